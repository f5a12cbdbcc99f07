// Package model_test lets the model checker spin visit every run of exchange.pml: a small model
// of both ends of the exchange, written from SPEC.md and not from the program. The state machines
// themselves go through the same and more in the simulation, but by chance.
package model_test

import (
	"context"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
)

var most = flag.Int("model.most", 1, "how many operations the far phone writes, 1 or 2")

// faults are the rules of SPEC.md that can be broken in the model by a name.
var faults = []string{
	"SEND_FIRST", "NO_IDEMPOTENCE", "TELL_ONCE", "NO_EPOCH", "JUDGE_LATE", "NO_REWIND",
	"NO_WITHDRAWAL", "ANSWER_FIRST",
}

var stored = regexp.MustCompile(`(\d+) states, stored`)

// TestModel_X12_EveryRun visits all states: none breaks an assertion, and none is stuck.
func TestModel_X12_EveryRun(t *testing.T) {
	report := check(t, *most, "")
	count := stored.FindStringSubmatch(report)
	if !strings.Contains(report, "errors: 0") || strings.Contains(report, "not completed") ||
		strings.Contains(report, "max search depth too small") || count == nil {
		t.Fatalf("spin says\n%s", report)
	}
	// Far fewer would mean that a guard keeps most of what can happen from happening.
	if n, err := strconv.Atoi(count[1]); err != nil || n < 1_000_000 {
		t.Errorf("only %s states: most of the faults cannot strike", count[1])
	}
	if strings.Contains(report, "line ") {
		t.Errorf("some of the model is never reached:\n%s", report)
	}
}

// TestModel_X12_BrokenRulesAreFound: with any one rule broken, some run loses something.
func TestModel_X12_BrokenRulesAreFound(t *testing.T) {
	text, err := os.ReadFile("exchange.pml")
	if err != nil {
		t.Fatal(err)
	}
	for _, fault := range faults {
		t.Run(fault, func(t *testing.T) {
			if !strings.Contains(string(text), "def "+fault+"\n") {
				t.Fatal("the model does not know this fault")
			}
			if report := check(t, 1, fault); !strings.Contains(report, "assertion violated") {
				t.Errorf("nothing was found:\n%s", report)
			}
		})
	}
}

// check makes the checker for the model, with a rule broken unless fault is empty, and runs it.
func check(t *testing.T, most int, fault string) string {
	t.Helper()
	if _, err := exec.LookPath("spin"); err != nil {
		t.Fatal("spin is missing, which this test runs: apt-get install spin (scripts/test does it)")
	}
	model, err := filepath.Abs("exchange.pml")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.ReadFile(model); err != nil { // so that a kept result goes with it
		t.Fatal(err)
	}
	folder := t.TempDir()
	make := []string{"-a", "-DMOST=" + strconv.Itoa(most)}
	optimise := "-O2"
	if fault != "" {
		make, optimise = append(make, "-D"+fault), "-O0"
	}
	run(t, folder, "spin", append(make, model)...)
	run(t, folder, "gcc", optimise, "-w", "-DSAFETY", "-DNOREDUCE", "-DCOLLAPSE",
		"-DVECTORSZ=2048", "-DMEMLIM=6000", "-o", "pan", "pan.c")
	return run(t, folder, "./pan", "-m100000")
}

func run(t *testing.T, folder, name string, args ...string) string {
	t.Helper()
	ctx, stop := context.WithTimeout(t.Context(), 30*time.Minute)
	defer stop()
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Dir = folder
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, out)
	}
	return string(out)
}
