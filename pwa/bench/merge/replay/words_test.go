package replay

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"evenhold/pwa/bench/merge/trace"
	"evenhold/sync/record"
)

// frameWords returns the words that every frame knows from the start: those of the texts that
// variables of sync/wire are split from.
func frameWords(t *testing.T) map[string]bool {
	files, err := filepath.Glob("../../../../sync/wire/*.go")
	if err != nil {
		t.Fatal(err)
	}
	words := map[string]bool{}
	gather := func(n ast.Node) bool {
		text, isLiteral := n.(*ast.BasicLit)
		if isLiteral && text.Kind == token.STRING {
			value, err := strconv.Unquote(text.Value)
			if err != nil {
				t.Fatal(err)
			}
			for _, word := range strings.Fields(value) {
				words[word] = true
			}
		}
		return true
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			call, isCall := n.(*ast.CallExpr)
			if !isCall {
				return true
			}
			by, _ := call.Fun.(*ast.SelectorExpr)
			if by != nil && strings.HasPrefix(by.Sel.Name, "Split") {
				ast.Inspect(call, gather)
			}
			return true
		})
	}
	return words
}

// TestTrace_SharesNoWordWithFrames: what every frame knows from the start is words of the product,
// and the peers have no such list. So the merge is measured on records whose names and texts
// are others. Only the name of the field that deletes is the merge's own.
func TestTrace_SharesNoWordWithFrames(t *testing.T) {
	known := frameWords(t)
	if len(known) < 50 || !known["holdMS"] {
		t.Fatalf("only %d words found in sync/wire", len(known))
	}
	lines := trace.Make(1, Seed)
	h, err := NewHouse(lines[0].AtMS)
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range lines {
		if line.IsSync {
			_, err = h.Sync(line.Phone)
		} else {
			err = h.Commit(line)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	shared := map[string]bool{}
	for _, op := range h.Record(trace.PhoneB).Operations() {
		text, _ := op.Value.Text()
		for _, word := range append(strings.Fields(text), op.Kind, op.Field) {
			if known[word] && word != record.VoidedField {
				shared[word] = true
			}
		}
	}
	for word := range shared {
		t.Errorf("%q is a word of the bench's records and of every frame: call it something else", word)
	}
}
