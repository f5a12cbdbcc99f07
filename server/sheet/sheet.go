// Package sheet makes the page that a practice prints and hangs on its wall: where phones open the
// app, how they come to trust a server of the practice's own, and what to do, in four steps.
//
// It is pure: what stands on the sheet is handed in, and the same facts give the same bytes.
// Lengths are in millimetres of paper. The words of each language are in words.json; the Arabic is
// a draft that nobody has reviewed.
package sheet

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"rsc.io/qr"
)

// ErrLanguage says that there are no words in a language.
var ErrLanguage = errors.New("there are no words in this language")

// CodeMM is the width of a square code on paper, without the light edge around it: more than the
// 30 mm that a phone reads from an arm's length away (common practice, no source).
const CodeMM = 44

// Facts are what stands on the sheet besides its words. None of it lets anybody in.
type Facts struct {
	Practice string // name of the practice
	App      string // address that phones open, for good
	Plain    string // address of the page that gives the certificate; "" if phones need none
	Print    string // that certificate's SHA-256: pairs of digits with colons
}

var (
	//go:embed sheet.html
	pageText string
	//go:embed words.json
	wordsText []byte

	page  = template.Must(template.New("sheet").Parse(pageText))
	words = parseWords()
)

// parseWords reads the words by language and key.
func parseWords() (all map[string]map[string]string) {
	if err := json.Unmarshal(wordsText, &all); err != nil {
		panic(err) // embedded: a fault of the build
	}
	return all
}

// Languages returns the tags of the languages that there are words in, sorted.
func Languages() (tags []string) {
	for tag := range words {
		tags = append(tags, tag)
	}
	slices.Sort(tags)
	return tags
}

// step is one thing to do. code is nil where there is none to scan, print empty where there is
// nothing to compare.
type step struct {
	Number     int // from 1
	Head, Text string
	Code       *code
	Print      []string
}

// Page returns the sheet in a language as HTML that needs nothing from elsewhere: one side of A4 or
// Letter. It returns ErrLanguage for a language without words.
func Page(f Facts, language string) ([]byte, error) {
	say, has := words[language]
	if !has {
		return nil, fmt.Errorf("%w: %q; there is %s", ErrLanguage, language,
			strings.Join(Languages(), ", "))
	}
	app, err := newCode(f.App, say["alt.app"])
	if err != nil {
		return nil, err
	}
	open := step{Head: say["open"], Text: say["open.how"], Code: app}
	keep := step{Head: say["keep"], Text: say["keep.how"]}
	steps := []step{open, keep}
	if f.Plain != "" {
		plain, err := newCode(f.Plain, say["alt.trust"])
		if err != nil {
			return nil, err
		}
		trust := step{Head: say["trust"], Text: say["trust.how"], Code: plain, Print: lines(f.Print)}
		open.Text += " " + keep.Text
		steps = []step{trust, open}
	}
	reach := "anywhere.online"
	if f.Plain != "" {
		reach = "anywhere.here"
	}
	steps = append(steps, step{Head: say["invite"], Text: say["invite.how"]},
		step{Head: say["anywhere"], Text: say["anywhere.how"] + " " + say[reach]})
	for i := range steps {
		steps[i].Number = i + 1
	}
	var out bytes.Buffer
	err = page.Execute(&out, struct {
		Facts
		Language string
		Say      map[string]string
		Steps    []step
	}{f, language, say, steps})
	if err != nil {
		return nil, fmt.Errorf("sheet: %w", err)
	}
	return out.Bytes(), nil
}

// lines breaks a fingerprint where a person who compares may rest.
func lines(print string) (lines []string) {
	for pairs := range slices.Chunk(strings.Split(print, ":"), 8) {
		lines = append(lines, strings.Join(pairs, " "))
	}
	return lines
}

// code is a square code as the page draws it: a path over modules of width 1.
type code struct {
	Alt     string
	Parts   []string // of the address: it is broken before the port rather than within it
	Modules int      // a side, with the light edge
	WidthMM float64  // a side, with the light edge
	Path    string
}

// quiet is the light edge that a reader needs, in modules (QR code symbology, ISO/IEC 18004, from
// memory).
const quiet = 4

// newCode draws an address at level M, which stays readable with some of it worn or covered.
func newCode(address, alt string) (*code, error) {
	square, err := qr.Encode(address, qr.M)
	if err != nil {
		return nil, fmt.Errorf("sheet: %q as a code: %w", address, err)
	}
	var path strings.Builder
	for y := range square.Size {
		for x := 0; x < square.Size; x++ {
			end := x
			for end < square.Size && square.Black(end, y) {
				end++
			}
			if end > x { // one run of dark modules, drawn as one piece
				fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", x+quiet, y+quiet, end-x, end-x)
				x = end
			}
		}
	}
	parts := []string{address}
	if port := strings.LastIndexByte(address, ':'); port > len("https:") {
		parts = []string{address[:port], address[port:]}
	}
	all := square.Size + 2*quiet
	return &code{Parts: parts, Alt: alt, Modules: all, Path: path.String(),
		WidthMM: CodeMM * float64(all) / float64(square.Size)}, nil
}
