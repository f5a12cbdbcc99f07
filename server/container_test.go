package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

const containerFile = "container/Containerfile"

// instruction is one of a container file, with the name of the stage that it stands in.
type instruction struct {
	word, args string
	stage      string
}

var stageName = regexp.MustCompile(`^\S+ AS (\S+)$`)

// containerLines reads the instructions: lines that end in \ go on, lines that begin with # say
// nothing ("Containerfile(5)", manual of the tools that build containers).
func containerLines(t *testing.T) (all []instruction) {
	t.Helper()
	text, err := os.ReadFile(containerFile)
	if err != nil {
		t.Fatal(err)
	}
	whole, stage := "", ""
	for line := range strings.Lines(string(text)) {
		line = strings.TrimSpace(line)
		if strings.HasPrefix(line, "#") || line == "" && whole == "" {
			continue
		}
		if begun, goesOn := strings.CutSuffix(line, `\`); goesOn {
			whole += begun
			continue
		}
		word, args, _ := strings.Cut(whole+line, " ")
		if whole = ""; word == "FROM" {
			stage = ""
			if m := stageName.FindStringSubmatch(args); m != nil {
				stage = m[1]
			}
		}
		all = append(all, instruction{word, strings.TrimSpace(args), stage})
	}
	return all
}

// last returns the arguments of a word in the stage that is run.
func last(all []instruction, word string) (args []string) {
	for _, i := range all {
		if i.stage == "" && i.word == word {
			args = append(args, i.args)
		}
	}
	return args
}

// list reads the form of a command that no shell sees.
func list(t *testing.T, text string) (words []string) {
	t.Helper()
	if err := json.Unmarshal([]byte(text), &words); err != nil || len(words) == 0 {
		t.Errorf("%q is no list: %v", text, err)
	}
	return words
}

// TestContainer_Bases: bases have versions, Go is that of go.mod, and the program runs on the
// release of Debian that it was linked on: 12 is bookworm ("Debian Releases", debian.org/releases).
func TestContainer_Bases(t *testing.T) {
	module, err := os.ReadFile("../go.mod")
	if err != nil {
		t.Fatal(err)
	}
	language := regexp.MustCompile(`(?m)^go (\d+\.\d+)\.`).FindSubmatch(module)
	var bases []string
	for _, i := range containerLines(t) {
		if i.word == "FROM" {
			base, _, _ := strings.Cut(i.args, " ")
			bases = append(bases, base)
		}
	}
	if language == nil || len(bases) != 3 {
		t.Fatalf("go.mod says %q, the bases are %q", language, bases)
	}
	for at, want := range []string{`^node:\d+\.\d+-bookworm-slim$`,
		`^golang:` + regexp.QuoteMeta(string(language[1])) + `\.\d+-bookworm$`,
		`^debian:12\.\d+-slim$`} {
		if !regexp.MustCompile(want).MatchString(bases[at]) {
			t.Errorf("the base %s is not as %s", bases[at], want)
		}
	}
}

// TestContainer_Runs: what is run is the program, not as root, with one folder, and settings,
// commands and the question whether it is well are such as the program reads.
func TestContainer_Runs(t *testing.T) {
	all := containerLines(t)
	if user := last(all, "USER"); len(user) != 1 ||
		!regexp.MustCompile(`^[1-9]\d*:[1-9]\d*$`).MatchString(user[0]) {
		t.Errorf("the user is %q; want a number that is not root's", user)
	}
	env := map[string]string{}
	for _, line := range last(all, "ENV") {
		for pair := range strings.FieldsSeq(line) {
			name, value, _ := strings.Cut(pair, "=")
			env[name] = value
		}
	}
	known := map[string]bool{}
	for _, s := range settings {
		known[environment(s.name)] = !s.isFlag
	}
	for name := range env {
		if !known[name] {
			t.Errorf("%s sets nothing", name)
		}
	}
	from := func(name string) string { return env[name] }
	start, command := last(all, "ENTRYPOINT"), last(all, "CMD")
	health := last(all, "HEALTHCHECK")
	if len(start) != 1 || len(command) != 1 || len(health) != 1 {
		t.Fatalf("starts %q, runs %q, asks %q", start, command, health)
	}
	runs := append(list(t, start[0]), list(t, command[0])...)
	o, err := parseOptions(runs[2:], from, os.Stderr)
	if err != nil || runs[1] != "serve" || o.addr != ":8420" || o.data != "/data" || o.demo {
		t.Errorf("%q, %+v, %v", runs, o, err)
	}
	volumes := last(all, "VOLUME")
	if len(volumes) != 1 || !slices.Equal(list(t, volumes[0]), []string{o.data}) {
		t.Errorf("volumes %q; want the data folder alone, %s", volumes, o.data)
	}
	_, asks, _ := strings.Cut(health[0], "CMD ")
	words := list(t, asks)
	c, isCommand := find(words[1])
	said, _, rest, err := parse(c, words[2:], from, os.Stderr)
	if !isCommand || err != nil || len(rest) != 0 || said["data"] != o.data || words[0] != runs[0] {
		t.Errorf("%q: %v %q %v", words, said, rest, err)
	}
	if !slices.ContainsFunc(last(all, "COPY"), func(args string) bool {
		words := strings.Fields(args)
		return path.Join(words[len(words)-1], path.Base(words[len(words)-2])) == runs[0]
	}) {
		t.Errorf("nothing puts %s there", runs[0])
	}
}

// copied returns what the container file copies out of the repository, and to where.
func copied(t *testing.T) map[string]string {
	t.Helper()
	to := map[string]string{}
	for _, i := range containerLines(t) {
		words := strings.Fields(i.args)
		if i.word != "COPY" || i.stage != "build" || strings.HasPrefix(words[0], "--") {
			continue
		}
		at := words[len(words)-1]
		for _, from := range words[:len(words)-1] {
			found, err := filepath.Glob(filepath.Join("..", from))
			if err != nil || len(found) == 0 {
				t.Errorf("COPY %s: there is none, %v", from, err)
			}
			for _, file := range found {
				from := filepath.ToSlash(file[len("../"):])
				if to[from] = at; strings.HasSuffix(at, "/") {
					to[from] = path.Join(at, path.Base(from))
				}
			}
		}
	}
	return to
}

// TestContainer_Copies: each package that the server and the build of the app need is copied, to
// where it stands in the repository; it is built as everywhere else.
func TestContainer_Copies(t *testing.T) {
	to := copied(t)
	for from, at := range to {
		if from != path.Clean(at) && at != "./" {
			t.Errorf("%s is copied to %s", from, at)
		}
	}
	out, err := exec.Command("go", "list", "-deps", "../pwa/build", ".").Output()
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for line := range strings.Lines(string(out)) {
		folder, isOurs := strings.CutPrefix(strings.TrimSpace(line), "evenhold/")
		if !isOurs {
			continue
		}
		found++
		isCopied := to[path.Join(folder, "embed.go")] != ""
		for at := folder; at != "."; at = path.Dir(at) {
			isCopied = isCopied || to[at] != ""
		}
		if !isCopied {
			t.Errorf("%s is needed, and not copied", folder)
		}
	}
	if found < 20 {
		t.Errorf("only %d packages were looked at", found)
	}
	script, err := os.ReadFile("../scripts/run")
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range containerLines(t) {
		if strings.HasPrefix(i.args, "go build") && !strings.Contains(string(script), i.args+"\n") {
			t.Errorf("it is built otherwise by scripts/run: %s", i.args)
		}
	}
}
