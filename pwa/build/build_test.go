package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/andybalholm/brotli"
)

// assembled builds the whole app but the core, for which four bytes stand.
func assembled(t *testing.T) site {
	t.Helper()
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	s, err := assemble(filepath.Join(root, "pwa"), []byte("\x00asm"))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

type manifestIcon struct {
	Src, Sizes, Type, Purpose string
}

type webManifest struct {
	ID, Name, Lang, Dir, Scope, Display, Description string
	ShortName                                        string `json:"short_name"`
	StartURL                                         string `json:"start_url"`
	Icons                                            []manifestIcon
	Shortcuts                                        []struct {
		Name, URL string
		Icons     []manifestIcon
	}
	Screenshots []manifestIcon
}

// TestManifest checks the members of Web Application Manifest, W3C Working Draft, and that every
// picture it names is there, in the size it says.
func TestManifest(t *testing.T) {
	s := assembled(t)
	var m webManifest
	if err := json.Unmarshal(s["manifest.webmanifest"], &m); err != nil {
		t.Fatal(err)
	}
	for name, value := range map[string]string{"id": m.ID, "name": m.Name, "short_name": m.ShortName,
		"start_url": m.StartURL, "scope": m.Scope, "lang": m.Lang, "dir": m.Dir,
		"display": m.Display, "description": m.Description} {
		if value == "" {
			t.Errorf("the manifest lacks %s", name)
		}
	}
	purposes := map[string]bool{}
	pictures := append(m.Icons, m.Screenshots...)
	for _, shortcut := range m.Shortcuts {
		pictures = append(pictures, shortcut.Icons...)
	}
	for _, icon := range pictures {
		purposes[icon.Purpose+" "+icon.Sizes] = true
		content := s[strings.TrimPrefix(icon.Src, "/")]
		config, err := png.DecodeConfig(bytes.NewReader(content))
		if err != nil {
			t.Errorf("%s: %v", icon.Src, err)
			continue
		}
		if got := fmt.Sprintf("%dx%d", config.Width, config.Height); got != icon.Sizes {
			t.Errorf("%s is %s, the manifest says %s", icon.Src, got, icon.Sizes)
		}
	}
	for _, want := range []string{"any 192x192", "any 512x512", "maskable 192x192",
		"maskable 512x512", "monochrome 512x512"} {
		if !purposes[want] {
			t.Errorf("no icon for %s", want)
		}
	}
}

// TestMaskable checks the safe zone: "a circle with center point in the center of the icon and with
// a radius of 2/5 (40%) of the icon size", Web Application Manifest, W3C, section on icon masks.
func TestMaskable(t *testing.T) {
	s := assembled(t)
	for _, name := range []string{"icons/maskable-192.png", "icons/maskable-512.png"} {
		picture, _, err := image.Decode(bytes.NewReader(s[name]))
		if err != nil {
			t.Fatal(err)
		}
		side := picture.Bounds().Dx()
		ground, drawn := picture.At(0, 0), 0
		if _, _, _, a := ground.RGBA(); a != 0xffff {
			t.Errorf("%s: the ground must cover the whole square", name)
		}
		for y := range side {
			for x := range side {
				if picture.At(x, y) == ground {
					continue
				}
				drawn++
				dx, dy := float64(x)+0.5-float64(side)/2, float64(y)+0.5-float64(side)/2
				if math.Hypot(dx, dy) > 0.4*float64(side)+1 {
					t.Fatalf("%s: drawn at %d, %d, outside the safe zone", name, x, y)
				}
			}
		}
		if drawn == 0 {
			t.Errorf("%s is empty", name)
		}
	}
}

// TestReferences holds what the files name of each other: the document its scripts, and the service
// worker every file a start without a network needs.
func TestReferences(t *testing.T) {
	s := assembled(t)
	for _, part := range strings.Split(string(s["index.html"]), `"`) {
		if !strings.HasPrefix(part, "/") {
			continue
		}
		if _, found := s[strings.TrimPrefix(part, "/")]; !found {
			t.Errorf("index.html names %s, which is not there", part)
		}
	}
	if strings.Contains(string(s["index.html"]), "<script>") {
		t.Error("index.html has a script of its own, which the content security policy forbids")
	}
	sw := string(s["sw.js"])
	for name := range s {
		kept := strings.Contains(sw, "/"+name)
		switch {
		case name == "sw.js" || strings.HasPrefix(name, "screenshots/"):
			if kept {
				t.Errorf("the service worker keeps %s", name)
			}
		case !kept:
			t.Errorf("the service worker does not keep %s", name)
		}
	}
}

// TestSameBytes builds twice: one input gives one output, or phones would fetch what did not
// change.
func TestSameBytes(t *testing.T) {
	one, two := assembled(t), assembled(t)
	if len(one) != len(two) {
		t.Fatalf("%d files, then %d", len(one), len(two))
	}
	for name, content := range one {
		if !bytes.Equal(content, two[name]) {
			t.Errorf("%s differs between two builds", name)
		}
	}
}

func TestPack(t *testing.T) {
	text := []byte(strings.Repeat("side bridge ", 100))
	packed, err := pack(site{"a.js": text, "b.png": text, "c.js": []byte("x")})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if _, err := out.ReadFrom(brotli.NewReader(bytes.NewReader(packed["a.js.br"]))); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(out.Bytes(), text) {
		t.Error("a.js.br does not unpack to a.js")
	}
	for _, name := range []string{"b.png.br", "c.js.br", "c.js.gz"} {
		if _, found := packed[name]; found {
			t.Errorf("%s gains nothing and should not be there", name)
		}
	}
}

func TestWriteAll(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{".keep", "stale.js"} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := writeAll(dir, site{"assets/new.js": []byte("1")}); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]bool{".keep": true, "stale.js": false, "assets/new.js": true} {
		_, err := os.Stat(filepath.Join(dir, name))
		if got := err == nil; got != want {
			t.Errorf("%s is there: %v, want %v", name, got, want)
		}
	}
}

func TestReportFailsOverBudget(t *testing.T) {
	sizes := measure(site{"assets/core.x.wasm.br": make([]byte, coreBudget+1),
		"assets/main.x.js.br": make([]byte, 10)})
	var out bytes.Buffer
	err := report(&out, "json", sizes)
	if err == nil || !strings.Contains(err.Error(), "core, brotli") {
		t.Errorf("a core over its budget: %v", err)
	}
	if strings.Contains(err.Error(), "page") {
		t.Errorf("the page is within its budget: %v", err)
	}
	for _, line := range strings.Split(strings.TrimSpace(out.String()), "\n") {
		if !json.Valid([]byte(line)) {
			t.Errorf("not JSON: %s", line)
		}
	}
}

// TestGrouped: the page's words are those of the file, whatever their keys.
func TestGrouped(t *testing.T) {
	script, err := grouped([]byte(`{"plain":"{text}","a.b":"say \"it\"","a.c_d":"x","b.b":"y"}`))
	if err != nil {
		t.Fatal(err)
	}
	node := exec.Command("node", "--input-type=module", "-e",
		strings.Replace(script, "export default words", "console.log(JSON.stringify(words))", 1))
	text, err := node.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	want := `{"a.b":"say \"it\"","a.c_d":"x","b.b":"y","plain":"{text}"}`
	if got := strings.TrimSpace(string(text)); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if _, err := grouped([]byte(`{"a":1}`)); err == nil {
		t.Error("a message that is no text is taken")
	}
}
