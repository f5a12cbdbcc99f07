package app_test

import (
	"fmt"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
)

// A shape is one type of views.ts.
type shape interface {
	// misfit says where v is not of this shape, "" if it is.
	misfit(s *schema, at string, v any) string
}

type (
	primitive string // string, number, boolean, unknown
	literal   string
	named     string
	anyOf     []shape
	listOf    struct{ item shape }
	tuple     []shape
	mapOf     struct{ value shape }
	members   struct {
		parent   string
		fields   map[string]shape
		optional map[string]bool
	}
)

func (p primitive) misfit(_ *schema, at string, v any) string {
	got := map[bool]string{true: "unknown"}[p == "unknown"]
	switch v.(type) {
	case string:
		got = "string"
	case float64:
		got = "number"
	case bool:
		got = "boolean"
	}
	if p == "unknown" && v != nil || got == string(p) {
		return ""
	}
	return fmt.Sprintf("%s is %v, want a %s", at, v, p)
}

func (l literal) misfit(_ *schema, at string, v any) string {
	if v == string(l) {
		return ""
	}
	return fmt.Sprintf("%s is %v, want %q", at, v, string(l))
}

func (n named) misfit(s *schema, at string, v any) string {
	known, found := s.types[string(n)]
	if !found {
		return fmt.Sprintf("%s: views.ts names no type %q", at, string(n))
	}
	return known.misfit(s, at, v)
}

func (a anyOf) misfit(s *schema, at string, v any) string {
	var all []string
	for _, one := range a {
		bad := one.misfit(s, at, v)
		if bad == "" {
			return ""
		}
		all = append(all, bad)
	}
	return strings.Join(all, "; or ")
}

func (l listOf) misfit(s *schema, at string, v any) string {
	list, is := v.([]any)
	if !is {
		return fmt.Sprintf("%s is %v, want a list", at, v)
	}
	for i, item := range list {
		if bad := l.item.misfit(s, fmt.Sprintf("%s[%d]", at, i), item); bad != "" {
			return bad
		}
	}
	return ""
}

func (t tuple) misfit(s *schema, at string, v any) string {
	list, is := v.([]any)
	if !is || len(list) != len(t) {
		return fmt.Sprintf("%s is %v, want a list of %d", at, v, len(t))
	}
	for i, item := range list {
		if bad := t[i].misfit(s, fmt.Sprintf("%s[%d]", at, i), item); bad != "" {
			return bad
		}
	}
	return ""
}

func (m mapOf) misfit(s *schema, at string, v any) string {
	values, is := v.(object)
	if !is {
		return fmt.Sprintf("%s is %v, want an object", at, v)
	}
	for _, name := range slices.Sorted(maps.Keys(values)) {
		if bad := m.value.misfit(s, at+"."+name, values[name]); bad != "" {
			return bad
		}
	}
	return ""
}

func (r members) misfit(s *schema, at string, v any) string {
	values, is := v.(object)
	if !is {
		return fmt.Sprintf("%s is %v, want an object", at, v)
	}
	fields, optional := maps.Clone(r.fields), maps.Clone(r.optional)
	if parent, found := s.types[r.parent].(members); found {
		maps.Copy(fields, parent.fields)
		maps.Copy(optional, parent.optional)
	}
	for _, name := range slices.Sorted(maps.Keys(values)) {
		field, known := fields[name]
		if !known {
			return fmt.Sprintf("%s has the unknown property %q", at, name)
		}
		if bad := field.misfit(s, at+"."+name, values[name]); bad != "" {
			return bad
		}
	}
	for _, name := range slices.Sorted(maps.Keys(fields)) {
		if _, has := values[name]; !has && !optional[name] {
			return fmt.Sprintf("%s lacks the property %q", at, name)
		}
	}
	return ""
}

// schema is views.ts, read once.
type schema struct {
	types map[string]shape
	words map[string]bool
}

var readViews = sync.OnceValues(func() (*schema, error) {
	source, err := os.ReadFile("../../src/views.ts")
	if err != nil {
		return nil, err
	}
	words, err := readWords("../../words/en.json")
	if err != nil {
		return nil, err
	}
	types, err := parseTypes(string(source))
	return &schema{types: types, words: words}, err
})

func views(t testing.TB) *schema {
	t.Helper()
	s, err := readViews()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// tokens of the part of TypeScript that views.ts is written in; comments are left out.
var tokens = regexp.MustCompile(`(?s)/\*.*?\*/|//[^\n]*|'[^']*'|[A-Za-z]\w*|[^\s\w]`)

// parser reads types.
type parser struct{ rest []string }

func parseTypes(source string) (types map[string]shape, err error) {
	defer func() {
		if bad := recover(); bad != nil {
			err = fmt.Errorf("views.ts: %v", bad)
		}
	}()
	p := &parser{}
	for _, token := range tokens.FindAllString(source, -1) {
		if !strings.HasPrefix(token, "/*") && !strings.HasPrefix(token, "//") {
			p.rest = append(p.rest, token)
		}
	}
	types = map[string]shape{}
	for len(p.rest) > 0 {
		p.skip("export")
		keyword, name := p.next(), p.next()
		switch keyword {
		case "type":
			p.want("=")
			types[name] = p.union()
			p.want(";")
		case "interface":
			parent := ""
			if p.skip("extends") {
				parent = p.next()
			}
			r := p.members().(members)
			r.parent = parent
			types[name] = r
		default:
			panic("cannot read " + keyword)
		}
	}
	return types, nil
}

func (p *parser) next() string {
	token := p.rest[0]
	p.rest = p.rest[1:]
	return token
}

func (p *parser) skip(token string) bool {
	if len(p.rest) > 0 && p.rest[0] == token {
		p.rest = p.rest[1:]
		return true
	}
	return false
}

func (p *parser) want(token string) {
	if got := p.next(); got != token {
		panic(fmt.Sprintf("%q where %q was expected", got, token))
	}
}

func (p *parser) union() shape {
	p.skip("|")
	all := anyOf{p.one()}
	for p.skip("|") {
		all = append(all, p.one())
	}
	if len(all) == 1 {
		return all[0]
	}
	return all
}

func (p *parser) one() shape {
	p.skip("readonly")
	var s shape
	switch token := p.rest[0]; {
	case token == "{":
		s = p.members()
	case token == "[":
		s = p.tuple()
	case strings.HasPrefix(token, "'"):
		s = literal(strings.Trim(p.next(), "'"))
	case slices.Contains([]string{"string", "number", "boolean", "unknown"}, token):
		s = primitive(p.next())
	default:
		s = named(p.next())
	}
	for len(p.rest) > 1 && p.rest[0] == "[" && p.rest[1] == "]" {
		p.rest = p.rest[2:]
		s = listOf{s}
	}
	return s
}

func (p *parser) tuple() shape {
	p.want("[")
	var all tuple
	for !p.skip("]") {
		all = append(all, p.union())
		p.skip(",")
	}
	return all
}

// members reads what stands in braces.
func (p *parser) members() shape {
	p.want("{")
	r := members{fields: map[string]shape{}, optional: map[string]bool{}}
	for !p.skip("}") {
		p.want("readonly")
		if p.skip("[") { // [name: string]: any name
			p.rest = p.rest[3:]
			p.want("]")
			p.want(":")
			m := mapOf{p.union()}
			p.skip(";")
			p.want("}")
			return m
		}
		name := p.next()
		r.optional[name] = p.skip("?")
		p.want(":")
		r.fields[name] = p.union()
		p.skip(";")
	}
	return r
}
