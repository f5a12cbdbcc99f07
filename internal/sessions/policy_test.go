package sessions_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strconv"
	"strings"
	"testing"

	"evenhold/internal/sessions"
)

// may says who may write one field of one kind. clientOwn is a client writing a
// record that the client's own device made, client any other record.
type may struct {
	kind, field                                string
	owner, coach, assistant, clientOwn, client bool
}

// rights is the whole table by hand: the owner keeps the practice, coaches all
// that is about clients, assistants what is measured but not what is prescribed
// or cleared, clients what they did themselves. Ours, no source.
var rights = []may{
	{"practice", "name", true, false, false, false, false},
	{"practice", "noisePM", true, true, false, false, false},
	{"practice", "noiseFrom", true, true, false, false, false},
	{"client", "massG", true, true, true, false, false},
	{"screen", "q_bladder", true, true, true, false, false},
	{"clear", "note", true, true, false, false, false},
	{"test", "restNote", true, true, true, false, false},
	{"trial", "heldMS", true, true, true, false, false},
	{"trunk", "heldMS", true, true, true, false, false},
	{"plan", "acceptedMS", true, true, false, false, false},
	{"item", "reps", true, true, false, false, false},
	{"item", "order", true, true, false, false, false},
	{"item", "loadWorksLeftG", true, true, false, true, true},
	{"item", "loadWorksRightG", true, true, false, true, true},
	{"item", "", true, true, false, false, false},
	{"decision", "state", true, true, false, false, false},
	{"same", "answer", true, true, false, false, false},
	{"practice", "ownSample", true, true, false, false, false},
	{"sample", "meanMS", true, true, false, false, false},
	{"implement", "weightG", true, true, false, false, false},
	{"step", "holdMS", true, true, false, false, false},
	{"session", "effort", true, true, true, true, false},
	{"set", "heldMS", true, true, true, true, false},
	{"set", "voided", true, true, true, true, false},
	{"item", "voided", true, true, false, false, false},
	{"trial", "voided", true, true, true, false, false},
	{"of_a_later_version", "anything", true, true, false, false, false},
	{"", "", true, true, false, false, false},
}

func TestMayWrite(t *testing.T) {
	for _, r := range rights {
		for _, c := range []struct {
			role      sessions.Role
			own, want bool
		}{
			{"owner", true, r.owner}, {"owner", false, r.owner},
			{"coach", true, r.coach}, {"coach", false, r.coach},
			{"assistant", true, r.assistant}, {"assistant", false, r.assistant},
			{"client", true, r.clientOwn}, {"client", false, r.client},
			{"", true, false}, {"", false, false},
			{"Owner", true, false}, {"visitor", true, false},
		} {
			if got := sessions.MayWrite(c.role, r.kind, r.field, c.own); got != c.want {
				t.Errorf("MayWrite(%q, %q, %q, own %t) = %t, want %t",
					c.role, r.kind, r.field, c.own, got, c.want)
			}
		}
	}
}

// TestMayWrite_Author: who someone is, only that person's device writes.
func TestMayWrite_Author(t *testing.T) {
	for _, role := range sessions.Roles() {
		if !sessions.MayWrite(role, "author", "name", true) {
			t.Errorf("%s may not write the own author record", role)
		}
		if sessions.MayWrite(role, "author", "name", false) {
			t.Errorf("%s may write another's author record", role)
		}
	}
}

// TestPolicy_KnowsEveryKind keeps the table whole: a kind that is added has to be given its row,
// there and here.
func TestPolicy_KnowsEveryKind(t *testing.T) {
	file, err := parser.ParseFile(token.NewFileSet(), "kind.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	ruled, tested := map[string]bool{}, map[string]bool{"author": true}
	for _, r := range sessions.Policy() {
		ruled[r.Kind] = true
	}
	for _, r := range rights {
		tested[r.kind] = true
	}
	kinds := 0
	for _, d := range file.Decls {
		for _, spec := range constantsOf(d) {
			if !strings.HasPrefix(spec.Names[0].Name, "Kind") {
				continue
			}
			kinds++
			kind, err := strconv.Unquote(spec.Values[0].(*ast.BasicLit).Value)
			if err != nil || !ruled[kind] || !tested[kind] {
				t.Errorf("kind %q has no row (%v)", kind, err)
			}
		}
	}
	if kinds < 15 {
		t.Errorf("only %d kinds were found in kind.go", kinds)
	}
}

func constantsOf(d ast.Decl) []*ast.ValueSpec {
	var all []*ast.ValueSpec
	if g, isGroup := d.(*ast.GenDecl); isGroup && g.Tok == token.CONST {
		for _, s := range g.Specs {
			all = append(all, s.(*ast.ValueSpec))
		}
	}
	return all
}

func TestMayOpen(t *testing.T) {
	for role, want := range map[sessions.Role]bool{
		"owner": true, "coach": true, "assistant": true, "client": false, "": false, "Coach": false,
	} {
		if got := sessions.MayOpen(role); got != want {
			t.Errorf("MayOpen(%q) = %t, want %t", role, got, want)
		}
	}
}
