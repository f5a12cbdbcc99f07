package main

import (
	"cmp"
	"fmt"
)

var healthCommand = command{name: "health", summary: "ask the running server whether it is well",
	run: runHealth, about: "Asks the server of this data folder, on this machine, whether it takes" +
		" work in: its\npractice file takes writes, the disk has room, it is not about to stop." +
		" Ends with 0 if so,\nwith 3 if not or if it does not answer. Made for containers and others" +
		" that watch.",
	settings: []string{"data", "tls", "public-url"}}

func runHealth(c *call) error {
	door := doorOptions{mode: c.said["tls"]}
	answer, trouble := askServer(c.said["data"], door.mode,
		cmp.Or(c.said["public-url"], door.publicURL()))
	if trouble != "" {
		fmt.Fprintf(c.out, "The server %s.\n", trouble)
		return errFaults
	}
	defer answer.Body.Close()
	fmt.Fprintln(c.out, "The server takes work in.")
	return nil
}
