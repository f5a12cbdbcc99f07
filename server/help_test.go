package main

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

var writeHelp = flag.Bool("server.help", false, "write what help prints into testdata/help.txt")

// TestCommands_HelpAndCompletion: each command has help, and the scripts are read by the shell
// they are for, where it is installed.
func TestCommands_HelpAndCompletion(t *testing.T) {
	for _, c := range commands {
		var out, errOut output
		if code := run(t.Context(), []string{"help", c.name}, noEnv, &out, &errOut); code != exitOK ||
			!strings.Contains(out.String(), "Usage: evenhold "+c.name) {
			t.Errorf("help %s: %d\n%s%s", c.name, code, out.String(), errOut.String())
		}
		for _, name := range c.settings {
			if !strings.Contains(out.String(), "-"+name) {
				t.Errorf("help %s does not tell of --%s", c.name, name)
			}
		}
	}
	for shell, check := range map[string][]string{"bash": {"bash", "-n"}, "zsh": {"zsh", "-n"},
		"fish": {"fish", "--no-execute"}} {
		var out, errOut output
		if code := run(t.Context(), []string{"completion", shell}, noEnv, &out, &errOut); code != exitOK {
			t.Errorf("completion %s: %d %s", shell, code, errOut.String())
		}
		if _, err := exec.LookPath(check[0]); err != nil {
			continue
		}
		read := exec.Command(check[0], check[1:]...)
		read.Stdin = strings.NewReader(out.String())
		if text, err := read.CombinedOutput(); err != nil {
			t.Errorf("%s does not read it: %v\n%s", shell, err, text)
		}
	}
}

// TestHelp_Written: what help prints of the program and of each command is what was last read
// through by a person.
func TestHelp_Written(t *testing.T) {
	var out, errOut output
	run(t.Context(), []string{"help"}, noEnv, &out, &errOut)
	for _, c := range commands {
		fmt.Fprintf(&out, "\n== %s ==\n", c.name)
		run(t.Context(), []string{c.name, "--help"}, noEnv, &out, &errOut)
	}
	path := filepath.Join("testdata", "help.txt")
	if *writeHelp {
		if err := os.WriteFile(path, []byte(out.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if out.String() != string(want) || errOut.String() != "" {
		t.Errorf("help is not as %s says; if you mean it, run\n  go test ./server -run"+
			" Help_Written -server.help\nand read the difference. %s", path, errOut.String())
	}
}

// TestExits: each exit code that help tells of is what a command ends with, and no other.
func TestExits(t *testing.T) {
	met := map[int]string{}
	for _, args := range [][]string{{"config"}, {"people"}, {"swim"}, {"health"}} {
		code, text := told(t, t.TempDir(), args...)
		met[code] = args[0] + ": " + text
	}
	for _, e := range exits {
		if met[e.code] == "" || e.when == "" {
			t.Errorf("nothing ended with %d, %q", e.code, e.when)
		}
	}
	if len(met) != 4 || len(exits) != len(met) {
		t.Errorf("%d codes are told of, met were %v", len(exits), met)
	}
}

// struck is how a terminal is told to print bold: a sign, a step back, the sign again.
var struck = regexp.MustCompile(".\x08")

// TestMan: the manual page has no fault that mandoc's checker finds ("mandoc(1)", -T lint), and
// what is read there has every command and flag with all that help says of it.
func TestMan(t *testing.T) {
	if _, err := exec.LookPath("mandoc"); err != nil {
		t.Skip("mandoc is not installed; scripts/test installs it")
	}
	page := filepath.Join(t.TempDir(), "evenhold.1")
	text := manual(time.Date(2026, 11, 26, 0, 0, 0, 0, time.UTC))
	if err := os.WriteFile(page, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	faults, err := exec.Command("mandoc", "-T", "lint", "-W", "all", page).CombinedOutput()
	if err != nil || len(faults) != 0 {
		t.Errorf("%v\n%s", err, faults)
	}
	read, err := exec.Command("mandoc", "-T", "utf8", "-O", "width=200", page).Output()
	if err != nil {
		t.Fatal(err)
	}
	without := func(text string) string { return strings.Join(strings.Fields(text), "") }
	shown := without(struck.ReplaceAllString(string(read), ""))
	for _, c := range commands {
		if !strings.Contains(shown, without(c.name+c.args+sentence(c.summary)+c.about)) {
			t.Errorf("%s is not told of as by help:\n%s", c.name, c.about)
		}
	}
	for _, s := range settings {
		if use := strings.ReplaceAll(s.help(), "`", ""); !strings.Contains(shown, without(use)) ||
			!strings.Contains(shown, "--"+s.name) {
			t.Errorf("--%s is not told of as by help: %s", s.name, use)
		}
	}
	var out, errOut output
	if code := run(t.Context(), []string{"man"}, noEnv, &out, &errOut); code != exitOK ||
		!strings.HasPrefix(out.String(), ".Dd ") {
		t.Errorf("man: %d %.40q %s", code, out.String(), errOut.String())
	}
}
