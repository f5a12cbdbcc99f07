package words_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

const (
	coreDir     = "../core/app"
	internalDir = "../../internal"
	pageDir     = "../src"
)

// call is one place where the core says something: the key, or for a computed
// one what it begins and ends with, and the arguments where they can be seen.
type call struct {
	place     string
	key       string // "" for a computed key
	head      string
	tail      string
	args      map[string]bool
	argsKnown bool
}

// keyShape is what a key looks like; names of commands look alike.
var keyShape = regexp.MustCompile(`^[a-z]+(\.[A-Za-z0-9_-]+)+$`)

// goFiles parses the sources of a folder, tests left out.
func goFiles(t *testing.T, dir string) (*token.FileSet, []*ast.File) {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil || len(paths) == 0 {
		t.Fatalf("no Go source in %s (%v)", dir, err)
	}
	fset := token.NewFileSet()
	var files []*ast.File
	for _, path := range paths {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(fset, path, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, file)
	}
	return fset, files
}

// coreCalls finds every say and sayNumbers of the core.
func coreCalls(t *testing.T) []call {
	t.Helper()
	fset, files := goFiles(t, coreDir)
	commands := commandNames(files)
	var all []call
	for _, file := range files {
		for _, decl := range file.Decls {
			s := scope{fset: fset, commands: commands, decl: decl}
			s.readVariables()
			ast.Inspect(decl, func(n ast.Node) bool {
				if c, ok := n.(*ast.CallExpr); ok {
					all = append(all, s.callsOf(c)...)
				}
				return true
			})
		}
	}
	if len(all) < 200 {
		t.Fatalf("only %d calls found in %s: the core says its words another way now",
			len(all), coreDir)
	}
	return all
}

// commandNames are the keys of the table of commands.
func commandNames(files []*ast.File) map[string]bool {
	names := map[string]bool{}
	for _, file := range files {
		ast.Inspect(file, func(n ast.Node) bool {
			pair, ok := n.(*ast.KeyValueExpr)
			if !ok {
				return true
			}
			if name, ok := literal(pair.Key); ok {
				if s, ok := pair.Value.(*ast.SelectorExpr); ok && s.X != nil {
					names[name] = true
				}
			}
			return true
		})
	}
	return names
}

// scope is one declaration, in which keys held by variables are looked for.
type scope struct {
	fset      *token.FileSet
	commands  map[string]bool
	decl      ast.Decl
	assigned  map[string][]string // variable to the keys put into it
	arguments map[string]map[string]bool
}

func (s *scope) readVariables() {
	s.assigned, s.arguments = map[string][]string{}, map[string]map[string]bool{}
	ast.Inspect(s.decl, func(n ast.Node) bool {
		a, ok := n.(*ast.AssignStmt)
		if !ok || len(a.Lhs) != len(a.Rhs) {
			return true
		}
		for i, left := range a.Lhs {
			name, ok := left.(*ast.Ident)
			if !ok {
				continue
			}
			if text, ok := literal(a.Rhs[i]); ok {
				s.assign(name.Name, text, a.Tok == token.ADD_ASSIGN)
			}
			if list, ok := a.Rhs[i].(*ast.CompositeLit); ok {
				s.arguments[name.Name], _ = names(list.Elts)
			}
		}
		return true
	})
}

// assign notes a key, or what is put behind every key so far.
func (s *scope) assign(name, text string, isAdded bool) {
	if !isAdded {
		s.assigned[name] = append(s.assigned[name], text)
		return
	}
	for _, key := range s.assigned[name] {
		s.assigned[name] = append(s.assigned[name], key+text)
	}
}

func (s *scope) callsOf(c *ast.CallExpr) []call {
	f, ok := c.Fun.(*ast.Ident)
	if !ok || f.Name != "say" && f.Name != "sayNumbers" || len(c.Args) == 0 {
		return nil
	}
	one := call{place: s.fset.Position(c.Pos()).String()}
	if f.Name == "say" {
		one.args, one.argsKnown = s.argumentsOf(c)
	}
	switch key := c.Args[0].(type) {
	case *ast.BasicLit:
		one.key, _ = literal(key)
		return []call{one}
	case *ast.BinaryExpr:
		one.head, one.tail = ends(key)
		return []call{one}
	case *ast.Ident:
		if keys := s.assigned[key.Name]; len(keys) > 0 {
			return withKeys(one, keys)
		}
	}
	// The key comes from elsewhere: any literal of this declaration may be it.
	one.argsKnown = false
	return withKeys(one, s.literals())
}

func withKeys(one call, keys []string) []call {
	var all []call
	for _, key := range keys {
		one.key = key
		all = append(all, one)
	}
	return all
}

// literals are what looks like a key in this declaration and is no command.
func (s *scope) literals() []string {
	var all []string
	ast.Inspect(s.decl, func(n ast.Node) bool {
		if e, ok := n.(ast.Expr); ok {
			if text, ok := literal(e); ok && keyShape.MatchString(text) && !s.commands[text] {
				all = append(all, text)
			}
		}
		return true
	})
	return all
}

// argumentsOf returns the names that a call passes; false where they cannot be
// seen.
func (s *scope) argumentsOf(c *ast.CallExpr) (map[string]bool, bool) {
	if c.Ellipsis == token.NoPos {
		return names(c.Args[1:])
	}
	spread, ok := c.Args[len(c.Args)-1].(*ast.Ident)
	if !ok || len(c.Args) != 2 {
		return nil, false
	}
	args, known := s.arguments[spread.Name]
	return args, known
}

// names are the literals at even places: name, value, name, value.
func names(list []ast.Expr) (map[string]bool, bool) {
	all := map[string]bool{}
	for i := 0; i < len(list); i += 2 {
		name, ok := literal(list[i])
		if !ok {
			return all, false
		}
		all[name] = true
	}
	return all, true
}

// ends are the literals that a sum of strings begins and ends with.
func ends(sum *ast.BinaryExpr) (head, tail string) {
	tail, _ = literal(sum.Y)
	if inner, ok := sum.X.(*ast.BinaryExpr); ok {
		head, _ = ends(inner)
		return head, tail
	}
	head, _ = literal(sum.X)
	return head, tail
}

func literal(e ast.Expr) (string, bool) {
	l, ok := e.(*ast.BasicLit)
	if !ok || l.Kind != token.STRING {
		return "", false
	}
	text, err := strconv.Unquote(l.Value)
	return text, err == nil
}

// pageText is the whole source of the page, tests left out.
func pageText(t *testing.T) string {
	t.Helper()
	var all strings.Builder
	err := filepath.WalkDir(pageDir, func(path string, d os.DirEntry, err error) error {
		isSource := strings.HasSuffix(path, ".ts") || strings.HasSuffix(path, ".tsx")
		if err != nil || d.IsDir() || !isSource || strings.HasSuffix(path, ".test.ts") {
			return err
		}
		data, err := os.ReadFile(path)
		all.Write(data)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all.String()
}
