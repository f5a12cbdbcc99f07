// Command evenhold is the server of a practice: it serves the phone app, keeps
// what the phones send, and tells them of each other's news. Its other commands
// are for whoever looks after the practice's data.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
)

// Exit codes.
const (
	exitOK      = 0
	exitFailure = 1
	exitUsage   = 2
	exitFaults  = 3
)

// exits tells what each exit code says.
var exits = []struct {
	code int
	when string
}{
	{exitOK, "it did what it was told"},
	{exitFailure, "it could not; the text says what is safe and what to do"},
	{exitUsage, "it was called in a way it cannot be; nothing was done"},
	{exitFaults, "a check found something, or the server is not well"},
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM, os.Interrupt)
	code := run(ctx, os.Args[1:], os.Getenv, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// run is main with everything it reads and writes handed in; it ends when ctx does.
func run(
	ctx context.Context, args []string, env func(string) string, out, errOut io.Writer,
) int {
	if len(args) == 0 {
		fmt.Fprint(errOut, usage())
		return exitUsage
	}
	name := args[0]
	if name == "-h" || name == "--help" {
		name = "help"
	}
	c, found := find(name)
	if !found {
		fmt.Fprintf(errOut, "evenhold: there is no command %q.\n\n%s", args[0], usage())
		return exitUsage
	}
	return do(ctx, c, args[1:], env, out, errOut)
}

func runServe(c *call) error {
	o, err := c.options()
	if err != nil {
		return misuse("%v", err)
	}
	if o.emptyAfter, err = c.awayDays(); err != nil {
		return misuse("%v", err)
	}
	if o.log, err = c.logOptions(); err != nil {
		return misuse("%v", err)
	}
	if o.supervisor, err = newSupervisor(c.env); err != nil {
		return misuse("%v", err)
	}
	return serve(c, o, c.out, c.errOut)
}
