package sheet

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"rsc.io/qr"
)

// own is a practice with a certificate of its own, on a name that needs a larger code.
var own = Facts{Practice: "Riverside <Practice>",
	App:   "https://a-rather-long-name-of-a-practice.home.arpa:8420",
	Plain: "http://practice.home.arpa:8421/",
	Print: strings.TrimSuffix(strings.Repeat("0A:1B:2C:3D:4E:5F:60:71:", 4), ":")}

// TestPage: whoever prints it needs nothing from elsewhere, each thing to scan, compare or read is
// there, and each word of a language stands on one of the two kinds of sheet.
func TestPage(t *testing.T) {
	public := Facts{Practice: own.Practice, App: "https://practice.example"}
	for _, language := range Languages() {
		with, err := Page(own, language)
		if err != nil {
			t.Fatal(err)
		}
		without, err := Page(public, language)
		if err != nil {
			t.Fatal(err)
		}
		for kind, tt := range map[string]struct {
			page  string
			facts Facts
			codes int
		}{"own": {string(with), own, 2}, "public": {string(without), public, 1}} {
			text := strings.ReplaceAll(tt.page, "<wbr>", "")
			for _, has := range []string{"Riverside &lt;Practice&gt;", ">" + tt.facts.App + "<",
				">" + tt.facts.Plain + "<", `lang="` + language + `"`} {
				if !strings.Contains(text, has) {
					t.Errorf("%s, %s: it lacks %s", language, kind, has)
				}
			}
			if n := strings.Count(text, "<svg"); n != tt.codes || strings.Count(text, "<li>") != 4 {
				t.Errorf("%s, %s: %d codes, want %d, and four steps", language, kind, n, tt.codes)
			}
			for _, outside := range []string{"<script", "src=", "href", "@import", "url(", "ZgotmplZ"} {
				if strings.Contains(text, outside) {
					t.Errorf("%s, %s: it has %s", language, kind, outside)
				}
			}
		}
		if n := strings.Count(string(with), "<span>0A 1B 2C 3D 4E 5F 60 71</span>"); n != 4 {
			t.Errorf("%s: %d lines of the fingerprint, want 4", language, n)
		}
		for key, word := range words[language] {
			if !strings.Contains(string(with)+string(without), word) {
				t.Errorf("%s: %s stands nowhere", language, key)
			}
			if _, is := words["en"][key]; !is || len(words[language]) != len(words["en"]) {
				t.Errorf("%s: not the keys of English at %s", language, key)
			}
		}
	}
	if _, err := Page(own, "xx"); !errors.Is(err, ErrLanguage) {
		t.Errorf("a language without words: %v", err)
	}
}

// TestNewCode holds what is drawn to the modules that the library worked out, and to what QR code
// symbology, ISO/IEC 18004, asks for (from memory): four light modules around, a finder of
// 1:1:3:1:1 in three corners, and level M: the first two of the format's bits, 00, masked with 10.
func TestNewCode(t *testing.T) {
	for _, address := range []string{own.App, own.Plain, "https://practice.example"} {
		c, err := newCode(address, "")
		if err != nil {
			t.Fatal(err)
		}
		library, err := qr.Encode(address, qr.M)
		if err != nil {
			t.Fatal(err)
		}
		n := library.Size
		if symbol := c.WidthMM * float64(n) / float64(c.Modules); symbol < 30 || c.Modules != n+8 {
			t.Errorf("%s: %.1f mm, %d modules in all, %d of it", address, symbol, c.Modules, n)
		}
		dark := modules(t, c)
		for y := -4; y < n+4; y++ {
			for x := -4; x < n+4; x++ {
				if got := dark[[2]int{x + 4, y + 4}]; got != library.Black(x, y) {
					t.Fatalf("%s: module %d, %d is dark: %t", address, x, y, got)
				}
			}
		}
		row := func(x, y, n int) (text string) {
			for i := range n {
				text += map[bool]string{true: "#", false: "."}[dark[[2]int{4 + x + i, 4 + y}]]
			}
			return text
		}
		finders := []string{row(0, 3, 7), row(n-7, 3, 7), row(0, n-4, 7)}
		if !slices.Equal(finders, []string{"#.###.#", "#.###.#", "#.###.#"}) {
			t.Errorf("%s: finders %q", address, finders)
		}
		if level := row(0, 8, 2); level != "#." {
			t.Errorf("%s: the level's bits are %s, want #. for M", address, level)
		}
	}
}

// modules reads a path back.
func modules(t *testing.T, c *code) map[[2]int]bool {
	t.Helper()
	dark := map[[2]int]bool{}
	for _, run := range regexp.MustCompile(`M[^M]+`).FindAllString(c.Path, -1) {
		var x, y, width, back int
		if _, err := fmt.Sscanf(run, "M%d %dh%dv1h-%dz", &x, &y, &width, &back); err != nil ||
			width != back || width < 1 {
			t.Fatalf("%q: %v", run, err)
		}
		for i := range width {
			dark[[2]int{x + i, y}] = true
		}
	}
	return dark
}
