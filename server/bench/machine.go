package main

import (
	"fmt"
	"os"
	"runtime"
	"strings"
)

// machine says where the figures are from.
func machine() row {
	note := []string{systemName(), runtime.GOOS + "/" + runtime.GOARCH, runtime.Version()}
	if load, err := os.ReadFile("/proc/loadavg"); err == nil {
		minute, _, _ := strings.Cut(string(load), " ")
		note = append(note, fmt.Sprintf("load at the start %s", minute))
	}
	return figure("machine", float64(runtime.NumCPU()), "cores", strings.Join(note, ", "))
}

// systemName is what the system calls itself, where it says so.
func systemName() string {
	text, err := os.ReadFile("/etc/os-release")
	if err != nil {
		return runtime.GOOS
	}
	for line := range strings.Lines(string(text)) {
		if name, found := strings.CutPrefix(strings.TrimSpace(line), "PRETTY_NAME="); found {
			return strings.Trim(name, `"`)
		}
	}
	return runtime.GOOS
}
