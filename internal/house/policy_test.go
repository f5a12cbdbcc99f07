package house

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenhold/internal/sessions"
)

var writePolicy = flag.Bool("house.policy", false, "write the policy's table into DEVELOPERS.md")

// TestPolicy_IsPrinted: DEVELOPERS.md prints the very table that the server enforces and the
// phone asks.
func TestPolicy_IsPrinted(t *testing.T) {
	const begin, end = "<!-- who may write what -->\n", "<!-- end -->"
	at := filepath.Join("..", "..", "DEVELOPERS.md")
	text, err := os.ReadFile(at)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, hasBegin := strings.Cut(string(text), begin)
	printed, after, hasEnd := strings.Cut(rest, end)
	if !hasBegin || !hasEnd {
		t.Fatalf("DEVELOPERS.md has no place between %q and %q", begin, end)
	}
	want := policyTable()
	if *writePolicy {
		whole := before + begin + want + end + after
		if err := os.WriteFile(at, []byte(whole), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if printed != want {
		t.Errorf("the table is not the policy's; go test ./internal/house -house.policy writes it:\n%s",
			want)
	}
}

func policyTable() string {
	var b strings.Builder
	b.WriteString("| kind | stands in | owner | coach | assistant | client |\n")
	b.WriteString("|---|---|---|---|---|---|\n")
	for _, r := range sessions.Policy() {
		cells := []string{nameOfRule(r), placeOf(r)}
		for _, role := range sessions.Roles() {
			cells = append(cells, map[sessions.Right]string{
				sessions.None: "no", sessions.Own: "own", sessions.Any: "yes",
			}[r.Of(role)])
		}
		b.WriteString("| " + strings.Join(cells, " | ") + " |\n")
	}
	return b.String()
}

func nameOfRule(r sessions.Rule) string {
	switch {
	case r.Kind == "":
		return "a kind not known here"
	case r.Fields != nil:
		return "`" + r.Kind + "`: `" + strings.Join(r.Fields, "`, `") + "`"
	}
	return "`" + r.Kind + "`"
}

func placeOf(r sessions.Rule) string {
	switch {
	case r.InPractice && r.InClient:
		return "both"
	case r.InPractice:
		return "practice"
	}
	return "client"
}
