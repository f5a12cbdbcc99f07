package boundary_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenhold/internal/boundary"
)

// words is text that writes its own JSON, as the phrases of a screen do.
type words string

func (w words) MarshalJSON() ([]byte, error) {
	return []byte(`{"k":"` + string(w) + `"}`), nil
}

type side string

type place struct {
	X float64 `json:"x"`
	Y float64 `json:"y,omitempty"`
}

type named struct {
	Store string `json:"store"`
	Key   string `json:"key"`
}

// everything has a field of each form that the package says it holds. The type
// of raw text differs between the two sides of a comparison.
type everything[Raw any] struct {
	named
	Raw     Raw               `json:"raw"`
	Own     words             `json:"own"`
	Side    side              `json:"side,omitempty"`
	Is      bool              `json:"is,omitempty"`
	Small   int8              `json:"small"`
	Number  int64             `json:"number,omitempty"`
	Device  uint64            `json:"device"`
	Stamps  []uint32          `json:"stamps"`
	Count   *int              `json:"count,omitempty"`
	Held    float64           `json:"held"`
	Low     *float64          `json:"low,omitempty"`
	At      place             `json:"at,omitempty"`
	Places  []place           `json:"places,omitzero"`
	More    []*place          `json:"more,omitempty"`
	Lines   []string          `json:"lines"`
	Labels  map[side]string   `json:"labels,omitempty"`
	Places2 map[string]*place `json:"<places & more>"`
	Any     any               `json:"any,omitempty"`
	NoTag   string
	Hidden  string `json:"-"`
	private string
}

// oracle writes v as encoding/json does when it is told to leave <, > and &.
func oracle(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), err
}

// plainValue draws what encoding/json puts into an any.
func plainValue(depth int) *rapid.Generator[any] {
	scalars := []*rapid.Generator[any]{
		rapid.Just[any](nil),
		rapid.Bool().AsAny(),
		rapid.Float64().Filter(isFinite).AsAny(),
		rapid.String().AsAny(),
	}
	if depth == 0 {
		return rapid.OneOf(scalars...)
	}
	inner := plainValue(depth - 1)
	return rapid.OneOf(append(scalars,
		rapid.SliceOfN(inner, 0, 4).AsAny(),
		rapid.MapOfN(text(), inner, 0, 4).AsAny(),
	)...)
}

func isFinite(f float64) bool { return !math.IsNaN(f) && !math.IsInf(f, 0) }

// text draws strings that are not always UTF-8.
func text() *rapid.Generator[string] {
	return rapid.OneOf(rapid.String(), rapid.Map(rapid.SliceOf(rapid.Byte()),
		func(b []byte) string { return string(b) }))
}

func drawPlace(t *rapid.T) place {
	return place{
		X: rapid.Float64().Filter(isFinite).Draw(t, "x"),
		Y: rapid.SampledFrom([]float64{0, 1e-6, 9.9e-7, 1e20, 1e21, -1e-7, 1e-10, 1e100}).Draw(t, "y"),
	}
}

var raws = []boundary.RawMessage{nil, []byte(`1`), []byte(`{"a":[]}`), []byte(`"é\n"`)}

func drawEverything(t *rapid.T) everything[boundary.RawMessage] {
	p := rapid.Custom(drawPlace)
	pointer := rapid.Ptr(p, true)
	return everything[boundary.RawMessage]{
		named:  named{Store: text().Draw(t, "store"), Key: text().Draw(t, "key")},
		Raw:    rapid.SampledFrom(raws).Draw(t, "raw"),
		Own:    words(rapid.SampledFrom([]string{"", "hold", "<&>"}).Draw(t, "own")),
		Side:   side(text().Draw(t, "side")),
		Is:     rapid.Bool().Draw(t, "is"),
		Small:  rapid.Int8().Draw(t, "small"),
		Number: rapid.Int64().Draw(t, "number"),
		Device: rapid.Uint64().Draw(t, "device"),
		Stamps: rapid.SliceOf(rapid.Uint32()).Draw(t, "stamps"),
		Count:  rapid.Ptr(rapid.Int(), true).Draw(t, "count"),
		Held:   rapid.Float64().Filter(isFinite).Draw(t, "held"),
		Low:    rapid.Ptr(rapid.Float64().Filter(isFinite), true).Draw(t, "low"),
		At:     drawPlace(t),
		Places: rapid.OneOf(rapid.Just[[]place](nil), rapid.SliceOf(p)).Draw(t, "places"),
		More:   rapid.SliceOf(pointer).Draw(t, "more"),
		Lines:  rapid.OneOf(rapid.Just[[]string](nil), rapid.SliceOf(text())).Draw(t, "lines"),
		Labels: rapid.MapOf(rapid.Map(text(), func(s string) side { return side(s) }), text()).
			Draw(t, "labels"),
		Places2: rapid.MapOf(text(), pointer).Draw(t, "places2"),
		Any:     plainValue(3).Draw(t, "any"),
		NoTag:   text().Draw(t, "noTag"),
		Hidden:  "hidden", private: "private",
	}
}

// TestMarshalAgrees holds Marshal to encoding/json, byte for byte.
func TestMarshalAgrees(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := drawEverything(t)
		got, err := boundary.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		if want, err := oracle(v); err != nil || !bytes.Equal(got, want) {
			t.Fatalf("Marshal = %s\nencoding/json: %s, %v", got, want, err)
		}
	})
}

// TestUnmarshalAgrees reads what encoding/json wrote, into a value that already
// holds something.
func TestUnmarshalAgrees(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := drawEverything(t)
		written, err := json.MarshalIndent(struct {
			everything[boundary.RawMessage]
			Own string `json:"own"` // reads as text, though it writes as an object
		}{v, string(v.Own)}, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		agree(t, written)
	})
}

// reporter is what agree needs of a test of either kind.
type reporter interface{ Fatalf(string, ...any) }

// agree compares both readers on text, for a struct, a map of structs and an any.
func agree(t reporter, text []byte) {
	compare[everything[boundary.RawMessage], everything[json.RawMessage]](t, text)
	compare[map[side]place, map[side]place](t, text)
	compare[[][]*place, [][]*place](t, text)
	compare[any, any](t, text)
	compare[*int64, *int64](t, text)
}

func compare[Ours, Theirs any](t reporter, text []byte) {
	var ours Ours
	var theirs Theirs
	err, wantErr := boundary.Unmarshal(text, &ours), json.Unmarshal(text, &theirs)
	if errors.Is(err, boundary.ErrLimit) && wantErr == nil && isDeep(text) {
		return
	}
	if (err == nil) != (wantErr == nil) {
		t.Fatalf("%T from %q: %v; encoding/json: %v", ours, text, err, wantErr)
	}
	if err != nil {
		return
	}
	// The two types of raw text are of one kind, so the values can be converted.
	got := reflect.ValueOf(&ours).Elem()
	want := reflect.ValueOf(&theirs).Elem()
	if !sameValue(got, want) {
		t.Fatalf("%T from %q:\n%+v\nencoding/json:\n%+v", ours, text, ours, theirs)
	}
}

// sameValue is reflect.DeepEqual but for the type of raw text.
func sameValue(a, b reflect.Value) bool {
	if a.Kind() == reflect.Struct {
		for i := range a.NumField() {
			if !sameValue(a.Field(i), b.Field(i)) {
				return false
			}
		}
		return true
	}
	if a.Type() == reflect.TypeFor[boundary.RawMessage]() {
		return a.IsNil() == b.IsNil() && bytes.Equal(a.Bytes(), b.Bytes())
	}
	if !a.CanInterface() { // an unexported field, which neither reader touches
		return a.IsZero() && b.IsZero()
	}
	return reflect.DeepEqual(a.Interface(), b.Interface())
}

// isDeep counts brackets outside strings, without either reader.
func isDeep(text []byte) bool {
	depth, deepest, quoted := 0, 0, false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case !quoted && strings.IndexByte("[{", c) >= 0:
			depth++
			deepest = max(deepest, depth)
		case !quoted && strings.IndexByte("]}", c) >= 0:
			depth--
		}
	}
	return deepest > 256
}

// FuzzUnmarshal holds Unmarshal to encoding/json on any bytes: accepted or not,
// and as which value. It never panics.
func FuzzUnmarshal(f *testing.F) {
	for _, text := range append(examples(), oddities()...) {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) { agree(t, text) })
}

// examples are printed in "The JavaScript Object Notation (JSON) Data Interchange
// Format", RFC 8259, 2017, sections 7 and 13 (from memory).
func examples() []string {
	return []string{
		`{"Image": {"Width": 800, "Height": 600, "Title": "View from 15th Floor",
		  "Thumbnail": {"Url": "http://www.example.com/image/481989943",
		  "Height": 125, "Width": 100}, "Animated" : false, "IDs": [116, 943, 234, 38793]}}`,
		`[{"precision": "zip", "Latitude": 37.7668, "Longitude": -122.3959, "Address": "",
		  "City": "SAN FRANCISCO", "State": "CA", "Zip": "94107", "Country": "US"}]`,
		`"Hello world!"`, `42`, `true`, `"\uD834\uDD1E"`, `"\u005C"`,
	}
}

// oddities are hand-made: each is near an edge of the grammar or of a type.
func oddities() []string {
	return []string{
		``, ` `, `nul`, `nullx`, `-`, `-0`, `01`, `1.`, `.5`, `1e`, `1e+`, `1E-2`, `1e400`, `-1e-400`,
		`[1,]`, `[,1]`, `[1 2]`, `{"a":1,}`, `{"a" 1}`, `{a:1}`, `{"a":}`, `[`, `{`, `"`, `"\`, `"\u12`,
		`"\x"`, `"\ud800"`, `"\ud800\ud800\udc00"`, `"\udc00\ud800x"`, "\"\xff\"", "\"\x1f\"", "\x00",
		`{"small":128}`, `{"small":-128}`, `{"small":1.0}`, `{"number":9223372036854775808}`,
		`{"device":18446744073709551615}`, `{"device":-1}`, `{"device":-0}`, `{"stamps":[4294967296]}`,
		`{"number":null,"count":null,"lines":null,"any":null,"raw":null,"at":null,"labels":null}`,
		`{"HELD":1,"held":2}`, `{"held":2,"HELD":1}`, `{"\u017fide":"x"}`,
		`{"notag":"x","Hidden":"y"}`, `{"places":[{"x":1}],"places":[]}`,
		`{"places":[{"x":1},{"x":2}],"places":[{}],"places":[{"y":3},{}]}`,
		`{"labels":{"a":"1"},"labels":{"b":"2"}}`, `{"any":{"a":1},"any":{"b":[]}}`,
		`{"raw": [ 1 , 2 ] }`,
		`{"at":{}}`, `{"at":[]}`, `{"side":{}}`, `{"is":"true"}`, `{"lines":{}}`, `{"labels":[]}`,
		`{"left":{"x":1},"right":{"x":2}}`, `[[{"x":1},null],null,[]]`, `{"store":"s","key":1}`,
		`[[{"x":1}],[[]]]`, "\ufeff1", `1 1`, `{} {}`, "\t[\n1\r, 2 ]\n",
		strings.Repeat("[", 256) + strings.Repeat("]", 256),
		strings.Repeat("[", 257) + strings.Repeat("]", 257),
		strings.Repeat("[", 20000),
	}
}

// TestExamples reads what a standard prints. The values are those of the text.
func TestExamples(t *testing.T) {
	var image struct {
		Image struct {
			Width     int
			Title     string
			Thumbnail struct{ URL string }
			Animated  *bool
			IDs       []int
		}
	}
	if err := boundary.Unmarshal([]byte(examples()[0]), &image); err != nil {
		t.Fatal(err)
	}
	i := image.Image
	if i.Width != 800 || i.Title != "View from 15th Floor" || i.Animated == nil || *i.Animated ||
		!reflect.DeepEqual(i.IDs, []int{116, 943, 234, 38793}) ||
		i.Thumbnail.URL != "http://www.example.com/image/481989943" {
		t.Errorf("image = %+v", i)
	}
	var clef string
	if err := boundary.Unmarshal([]byte(examples()[5]), &clef); err != nil || clef != "\U0001D11E" {
		t.Errorf("G clef = %q, %v", clef, err)
	}
}

// TestFloat writes numbers as "ECMAScript Language Specification", ECMA-262,
// Number::toString: decimal from 1e-6 up to 1e21, else with an exponent.
func TestFloat(t *testing.T) {
	for f, want := range map[float64]string{
		0: "0", 100: "100", 0.5: "0.5", -37.25: "-37.25", 1e20: "100000000000000000000",
		1e21: "1e+21", 1.5e300: "1.5e+300", 1e-6: "0.000001", 1e-7: "1e-7", -2.5e-10: "-2.5e-10",
	} {
		if got, err := boundary.Marshal(f); err != nil || string(got) != want {
			t.Errorf("Marshal(%g) = %s, %v, want %s", f, got, err, want)
		}
	}
}

type loop struct{ Next *loop }

type broken struct{}

func (broken) MarshalJSON() ([]byte, error) { return []byte(`{"a":`), nil }

var errOwn = errors.New("own")

type failing struct{}

func (failing) MarshalJSON() ([]byte, error) { return nil, errOwn }

// TestRefused lists what cannot be written; none of it panics.
func TestRefused(t *testing.T) {
	circle := &loop{}
	circle.Next = circle
	for name, v := range map[string]any{
		"not a number": math.NaN(), "infinite": math.Inf(-1), "bytes": []byte("a"), "array": [1]int{1},
		"channel": make(chan int), "number keys": map[int]string{1: "a"}, "inside": []any{1, 1i},
		"broken": broken{}, "float32": float32(1), "in a map": map[string]any{"a": func() {}},
	} {
		if got, err := boundary.Marshal(v); err == nil || got != nil {
			t.Errorf("%s: Marshal = %s, %v, want an error", name, got, err)
		}
	}
	if _, err := boundary.Marshal(circle); !errors.Is(err, boundary.ErrLimit) {
		t.Errorf("a circle: %v, want ErrLimit", err)
	}
	if _, err := boundary.Marshal([]failing{{}}); !errors.Is(err, errOwn) {
		t.Errorf("an error of its own: %v", err)
	}
}

// TestUnmarshalRefused: what cannot be read into, and text that is too long.
func TestUnmarshalRefused(t *testing.T) {
	var n int
	for name, into := range map[string]any{
		"nil": nil, "no pointer": n, "nil pointer": (*int)(nil), "bytes": &[]byte{},
		"array": &[1]int{}, "channel": new(chan int), "number keys": &map[int]int{},
		"float32":   new(float32),
		"interface": new(error),
	} {
		for _, text := range []string{`"YQ=="`, `[1]`, `{"1":1}`, `1`, `true`} {
			if into == any(n) || into == nil || text != `1` {
				if err := boundary.Unmarshal([]byte(text), into); err == nil {
					t.Errorf("%s: %s was read", name, text)
				}
			}
		}
	}
	long := append(bytes.Repeat([]byte(" "), 8<<20), '1')
	if err := boundary.Unmarshal(long, &n); !errors.Is(err, boundary.ErrLimit) || n != 0 {
		t.Errorf("too long: %v, n = %d", err, n)
	}
	if err := boundary.Unmarshal(long[1:], &n); err != nil || n != 1 {
		t.Errorf("just short enough: %v, n = %d", err, n)
	}
}

// TestUntouched: text that is not JSON changes nothing, and the error says where.
func TestUntouched(t *testing.T) {
	p := place{X: 1}
	err := boundary.Unmarshal([]byte(`{"x":2,"y":3]`), &p)
	if err == nil || p != (place{X: 1}) {
		t.Errorf("%v, %+v", err, p)
	}
	if err == nil || !strings.HasPrefix(err.Error(), "byte 12: ") {
		t.Errorf("error %q does not name byte 12", err)
	}
}

// TestSpacesStay: what a type writes itself is checked but not squeezed.
func TestSpacesStay(t *testing.T) {
	got, err := boundary.Marshal([]boundary.RawMessage{nil, []byte(`[ 1 ]`)})
	if err != nil || string(got) != `[null,[ 1 ]]` {
		t.Errorf("%s, %v", got, err)
	}
	if _, err := boundary.Marshal(boundary.RawMessage(`[`)); err == nil {
		t.Error("broken raw text was written")
	}
}
