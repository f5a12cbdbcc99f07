package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestSystemdUnit: systemd reads the unit without complaint, counts it as well closed in (an
// exposure of 4.0 or less; systemd.exec(5) says what each setting does), and its flags exist.
func TestSystemdUnit(t *testing.T) {
	const unit = "systemd/evenhold.service"
	text, err := os.ReadFile(unit)
	if err != nil {
		t.Fatal(err)
	}
	var command []string
	for line := range strings.Lines(string(text)) {
		if start, found := strings.CutPrefix(strings.TrimSpace(line), "ExecStart="); found {
			command = strings.Fields(start)
		}
	}
	// Whoever says Type=notify must be told; TestNotify holds that systemd is.
	for _, line := range []string{"Type=notify", "NotifyAccess=main", "WatchdogSec=2min"} {
		if !strings.Contains(string(text), "\n"+line+"\n") {
			t.Errorf("the unit does not say %s", line)
		}
	}
	if len(command) < 2 {
		t.Fatal("the unit starts nothing")
	}
	serving, found := find(command[1])
	if !found {
		t.Fatalf("there is no command %s", command[1])
	}
	if _, _, rest, err := parse(serving, command[2:], noEnv, os.Stderr); err != nil || len(rest) > 0 {
		t.Errorf("%v is not understood: %v %v", command, rest, err)
	}
	if _, err := exec.LookPath("systemd-analyze"); err != nil {
		t.Fatal("systemd-analyze is missing: apt-get install systemd")
	}
	// The program need not be installed here; any that is there lets systemd check the rest.
	checked := filepath.Join(t.TempDir(), "evenhold.service")
	there := strings.Replace(string(text), "ExecStart="+command[0], "ExecStart=/bin/true", 1)
	if err := os.WriteFile(checked, []byte(there), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"verify", checked},
		{"security", "--offline=true", "--threshold=40", "--no-pager", checked}} {
		said, err := exec.Command("systemd-analyze", args...).CombinedOutput()
		if err != nil || args[0] == "verify" && strings.Contains(string(said), "evenhold.service") {
			t.Errorf("systemd-analyze %v: %v\n%s", args, err, said)
		}
	}
}
