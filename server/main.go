// Command evenhold is the server of a practice: it serves the phone app, keeps
// what the phones send, and tells them of each other's news.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
)

// Exit codes.
const (
	exitOK      = 0
	exitFailure = 1
	exitUsage   = 2
)

const usage = `Evenhold tests, prescribes and logs side-to-side trunk endurance work.

Usage:
  evenhold serve [flags]   serve the app and keep the practice's data
  evenhold version         print the version
  evenhold help            print this text

"evenhold serve -h" lists the flags.
`

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
		fmt.Fprint(errOut, usage)
		return exitUsage
	}
	switch args[0] {
	case "serve":
		return runServe(ctx, args[1:], env, out, errOut)
	case "version":
		fmt.Fprintln(out, version())
		return exitOK
	case "help", "-h", "--help":
		fmt.Fprint(out, usage)
		return exitOK
	}
	fmt.Fprintf(errOut, "evenhold: there is no command %q.\n\n%s", args[0], usage)
	return exitUsage
}

func runServe(
	ctx context.Context, args []string, env func(string) string, out, errOut io.Writer,
) int {
	o, err := parseOptions(args, env, errOut)
	if errors.Is(err, flag.ErrHelp) {
		return exitOK
	}
	if err != nil {
		fmt.Fprintf(errOut, "evenhold serve: %v\n", err)
		return exitUsage
	}
	if err := serve(ctx, o, out, errOut); err != nil {
		fmt.Fprintf(errOut, "evenhold serve: %v\n", err)
		return exitFailure
	}
	return exitOK
}

// version returns the module's version and the Go release it was built with.
func version() string {
	info, found := debug.ReadBuildInfo()
	if !found {
		return "evenhold, built without module information"
	}
	return fmt.Sprintf("evenhold %s (%s)", info.Main.Version, info.GoVersion)
}
