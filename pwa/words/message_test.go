package words_test

import (
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// messages is one language: key to message.
type messages map[string]string

func readMessages(t *testing.T, path string) messages {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var m messages
	if err := json.Unmarshal(data, &m); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return m
}

// keys returns the keys in order, so that failures come in order too.
func (m messages) keys() []string {
	all := make([]string, 0, len(m))
	for key := range m {
		all = append(all, key)
	}
	slices.Sort(all)
	return all
}

// shape is what a message asks of its caller: the names of its arguments, and
// the forms of each of its plurals.
type shape struct {
	args    map[string]bool
	plurals [][]string
}

// parse reads a message: text, {name}, and {n, plural, one {# set} other {# sets}}.
func parse(message string) (shape, error) {
	s := shape{args: map[string]bool{}}
	rest, err := s.text(message)
	if err == nil && rest != "" {
		err = fmt.Errorf("stray } before %q", rest)
	}
	return s, err
}

// text reads up to a closing brace or the end, and returns what is left.
func (s *shape) text(m string) (string, error) {
	for {
		i := strings.IndexAny(m, "{}")
		if i < 0 {
			return "", nil
		}
		if m[i] == '}' {
			return m[i:], nil
		}
		rest, err := s.argument(m[i+1:])
		if err != nil {
			return "", err
		}
		m = rest
	}
}

var (
	argumentHead = regexp.MustCompile(`^(\w+)(\}|, plural,)`)
	branchHead   = regexp.MustCompile(`^ (=\d+|\w+) \{`)
)

func (s *shape) argument(m string) (string, error) {
	head := argumentHead.FindStringSubmatch(m)
	if head == nil {
		return "", fmt.Errorf("cannot read the braces before %q", m)
	}
	s.args[head[1]] = true
	m = m[len(head[0]):]
	if head[2] == "}" {
		return m, nil
	}
	var forms []string
	for {
		branch := branchHead.FindStringSubmatch(m)
		if branch == nil {
			break
		}
		rest, err := s.text(m[len(branch[0]):])
		if err != nil {
			return "", err
		}
		if rest == "" {
			return "", fmt.Errorf("branch %q is not closed", branch[1])
		}
		forms, m = append(forms, branch[1]), rest[1:]
	}
	if !slices.Contains(forms, "other") || !strings.HasPrefix(m, "}") {
		return "", fmt.Errorf("a plural needs the form other and a closing brace before %q", m)
	}
	s.plurals = append(s.plurals, forms)
	return m[1:], nil
}

func sorted(set map[string]bool) []string {
	all := make([]string, 0, len(set))
	for name := range set {
		all = append(all, name)
	}
	slices.Sort(all)
	return all
}

// TestParse: the reader of these tests sees what is wrong with a message.
func TestParse(t *testing.T) {
	s, err := parse("{a}: {n, plural, =0 {none} one {# of {b}} other {# of {c}}}")
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(sorted(s.args), " "); got != "a b c n" {
		t.Errorf("arguments are %q", got)
	}
	if len(s.plurals) != 1 || strings.Join(s.plurals[0], " ") != "=0 one other" {
		t.Errorf("plural forms are %q", s.plurals)
	}
	for _, bad := range []string{
		"{", "}", "{a", "{a b}", "{n, plural, one {x}}", "{n, plural, other {x}", "{n, plural, other {x",
	} {
		if _, err := parse(bad); err == nil {
			t.Errorf("%q was read without complaint", bad)
		}
	}
}
