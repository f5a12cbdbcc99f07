package corefile

import (
	"errors"
	"strings"
	"testing"
)

const source = `package p

import (
	"fmt"
	"math"
)

func kept() float64 { return math.Pi }

func (t *talk) tell() { fmt.Println("told") }

func tell() string { return fmt.Sprint(kept()) }
`

// The changed source must be Go that a compiler takes: an import left over is an error of the
// Go Programming Language Specification, "Import declarations".
func TestWithout_ReplacesBodiesAndKeepsTheRest(t *testing.T) {
	got, err := without([]byte(source), map[string]string{"talk.tell": "", "tell": `return ""`})
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		`_ "fmt"`, "\t\"math\"", "func kept() float64 { return math.Pi }",
		"func (t *talk) tell() {  }", `func tell() string { return "" }`,
	} {
		if !strings.Contains(string(got), want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
}

func TestWithout_AnImportStillUsedKeepsItsName(t *testing.T) {
	got, err := without([]byte(source), map[string]string{"talk.tell": ""})
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(got), "_ ") {
		t.Errorf("an import lost its name in\n%s", got)
	}
}

func TestWithout_RefusesSourcesThatLackAFunction(t *testing.T) {
	_, err := without([]byte(source), map[string]string{"tell": "", "gone": ""})
	if !errors.Is(err, ErrLayout) {
		t.Errorf("got %v, want ErrLayout", err)
	}
}
