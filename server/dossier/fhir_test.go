package dossier

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// startedMS is 2026-03-02 12:00 UTC.
const startedMS = 1_772_452_800_000

// chart is a record that a test writes.
type chart struct {
	t   interface{ Fatal(...any) }
	doc *record.Doc
	pen *record.Author
}

func newChart(t interface{ Fatal(...any) }) *chart {
	id := record.ID{Device: 0x1111, Seq: 1}
	return &chart{t, record.NewDoc(id), record.NewAuthor(id.Device, 0, [32]byte{},
		clock.New(id.Device, clock.Stamp{}))}
}

func (c *chart) add(kind string, values []record.FieldValue) string {
	id, _, err := c.pen.Create(c.doc, kind, values, startedMS)
	if err != nil {
		c.t.Fatal(err)
	}
	return id.String()
}

func (c *chart) void(kind, id, why string) {
	of, err := record.ParseID(id)
	if err != nil {
		c.t.Fatal(err)
	}
	_, err = c.pen.Write(c.doc, of, kind, "voided", record.Text(why), startedMS+1)
	if err != nil {
		c.t.Fatal(err)
	}
}

// full is a record with one of everything that FHIR is told of.
func full(t interface{ Fatal(...any) }) *chart {
	c := newChart(t)
	c.add(sessions.KindClient, sessions.Client{Name: "Kim Example", Sex: "female",
		BirthYear: 1988}.Values())
	test := c.add(sessions.KindTest, sessions.Test{Step: "straight_leg_hold", StartedMS: startedMS,
		TZMin: 60}.Values())
	for _, trial := range []sessions.Trial{
		{Down: sides.DownRight, Working: sides.WorksRight, HeldMS: 58_250, Stop: "position"},
		{Down: sides.DownLeft, Working: sides.WorksLeft, HeldMS: 3_000, Stop: "tester_error"},
		{Down: sides.DownLeft, Working: sides.WorksLeft, HeldMS: 61_000, Stop: "gave_up"},
	} {
		trial.Test, trial.StartedMS, trial.Clock = test, startedMS, "mono"
		c.add(sessions.KindTrial, trial.Values())
	}
	c.add(sessions.KindTrunk, sessions.Trunk{What: sessions.Extensor, StartedMS: startedMS,
		HeldMS: 101_000, Stop: "limit", Clock: "wall"}.Values())
	old := c.add(sessions.KindPlan, sessions.Plan{AcceptedMS: startedMS}.Values())
	plan := c.add(sessions.KindPlan, sessions.Plan{Test: test, AcceptedMS: startedMS}.Values())
	for _, of := range []string{old, plan} {
		c.add(sessions.KindItem, sessions.Item{Plan: of, Step: "suitcase_carry", Reps: []int64{1, 1},
			LoadG: map[sides.Working]int64{sides.WorksLeft: 12_500}, DistanceMM: 40_000}.Values())
	}
	session := c.add(sessions.KindSession, append(sessions.Session{StartedMS: startedMS, TZMin: -210,
		Plan: plan}.Values(), record.FieldValue{Field: "pain", Value: record.Int(3)},
		record.FieldValue{Field: "painPlace", Value: record.Text("left hip")},
		record.FieldValue{Field: "effort", Value: record.Int(0)}))
	c.add(sessions.KindSet, sessions.Set{Session: session, Step: "suitcase_carry",
		Hand: sides.HandRight, Working: sides.WorksLeft, Number: 1, Reps: 1, LoadG: 12_500,
		DistanceMM: 40_000, TimeMS: 35_500, StartedMS: startedMS, Clock: "mono"}.Values())
	lost := c.add(sessions.KindSet, sessions.Set{Session: session, Step: "straight_leg_hold",
		Down: sides.DownLeft, Working: sides.WorksLeft, Number: 2, Reps: 3, HoldMS: 10_000,
		HeldMS: 30_000, StartedMS: startedMS, Clock: "mono"}.Values())
	c.void(sessions.KindSet, lost, "wrong person")
	c.add(sessions.KindSet, sessions.Set{Session: "0000000000009-9", Step: "straight_leg_hold",
		Down: sides.DownLeft, Working: sides.WorksLeft, HeldMS: 1_000}.Values())
	return c
}

// written is a record's Bundle as a reader elsewhere finds it.
func written(t interface{ Fatal(...any) }, doc *record.Doc) map[string]any {
	text, err := json.Marshal(fhir(doc))
	if err != nil {
		t.Fatal(err)
	}
	read, err := jsonschema.UnmarshalJSON(strings.NewReader(string(text)))
	if err != nil {
		t.Fatal(err)
	}
	return read.(map[string]any)
}

// held are the types of resources in a Bundle of ours.
var held = []string{"Patient", "CarePlan", "Observation"}

// form is the JSON schema that HL7 publishes with FHIR R4 (4.0.1), by type of resource.
type form map[string]*jsonschema.Schema

// fault is what the schema has against a Bundle. Each resource is held to its own type first: of a
// Bundle alone it says only that something in it is of no type at all.
func (f form) fault(bundle map[string]any) error {
	return errors.Join(f.faultWithin(bundle), f["Bundle"].Validate(bundle))
}

// faultWithin is what the schema has against the resources of a Bundle.
func (f form) faultWithin(bundle map[string]any) error {
	for kind, schema := range f {
		for _, r := range resources(bundle, kind) {
			if err := schema.Validate(r); err != nil {
				return err
			}
		}
	}
	return nil
}

// official is the form out of a package of others, which may not be installed.
func official(t *testing.T) form {
	t.Helper()
	text, err := os.Open(filepath.Join("outside", "node_modules", "@medplum", "definitions", "dist",
		"fhir", "r4", "fhir.schema.json"))
	if err != nil {
		t.Skip("the official schema is not installed; scripts/test installs it")
	}
	defer func() { _ = text.Close() }() // read only
	schema, err := jsonschema.UnmarshalJSON(text)
	if err != nil {
		t.Fatal(err)
	}
	defined := schema.(map[string]any)["definitions"].(map[string]any)
	// A Bundle may hold any of some 150 types, and the package's own. Ours holds three: with all of
	// them the race detector takes half a minute.
	var ours []any
	for _, kind := range held {
		ours = append(ours, map[string]any{"$ref": "#/definitions/" + kind})
	}
	defined["ResourceList"] = map[string]any{"oneOf": ours}
	needed := map[string]bool{}
	reach(defined, defined["Bundle"], needed)
	for name := range defined {
		if !needed[name] && name != "Bundle" {
			delete(defined, name)
		}
	}
	delete(schema.(map[string]any), "oneOf")
	compiler := jsonschema.NewCompiler()
	if err := compiler.AddResource("fhir.schema.json", schema); err != nil {
		t.Fatal(err)
	}
	f := form{}
	for _, kind := range append(held, "Bundle") {
		f[kind], err = compiler.Compile("fhir.schema.json#/definitions/" + kind)
		if err != nil {
			t.Fatal(err)
		}
	}
	return f
}

// reach notes every definition that a part of the schema leads to.
func reach(defined map[string]any, from any, needed map[string]bool) {
	switch from := from.(type) {
	case map[string]any:
		to, _ := from["$ref"].(string)
		if name, is := strings.CutPrefix(to, "#/definitions/"); is && !needed[name] {
			needed[name] = true
			reach(defined, defined[name], needed)
		}
		for _, part := range from {
			reach(defined, part, needed)
		}
	case []any:
		for _, part := range from {
			reach(defined, part, needed)
		}
	}
}

// resources are those of one type.
func resources(bundle map[string]any, kind string) (all []map[string]any) {
	for _, e := range bundle["entry"].([]any) {
		if r := e.(map[string]any)["resource"].(map[string]any); r["resourceType"] == kind {
			all = append(all, r)
		}
	}
	return all
}

// TestFHIR_Official: HL7's schema takes the Bundle, and does not once a status is none of its list,
// a plan is nobody's, a code is missing or a moment is none.
func TestFHIR_Official(t *testing.T) {
	form := official(t)
	bundle := written(t, full(t).doc)
	if err := form.fault(bundle); err != nil {
		t.Fatal(err)
	}
	for what, spoil := range map[string]func(bundle map[string]any){
		"status":  func(b map[string]any) { resources(b, "Observation")[0]["status"] = "done" },
		"subject": func(b map[string]any) { delete(resources(b, "CarePlan")[0], "subject") },
		"code":    func(b map[string]any) { delete(resources(b, "Observation")[0], "code") },
		"moment": func(b map[string]any) {
			resources(b, "Observation")[0]["effectiveDateTime"] = "2026-03-02 12:00"
		},
		"field": func(b map[string]any) { resources(b, "Patient")[0]["side"] = "left" },
	} {
		spoilt := written(t, full(t).doc)
		spoil(spoilt)
		if form.fault(spoilt) == nil {
			t.Errorf("a wrong %s passes", what)
		}
	}
	// Whatever another version, or a slip, has written: the form holds.
	rapid.Check(t, func(t *rapid.T) {
		c := full(t)
		number := rapid.OneOf(rapid.Int64(), rapid.Int64Range(-2000, 2000),
			rapid.Int64Range(0, 4*startedMS))
		for _, kind := range []string{sessions.KindClient, sessions.KindTest, sessions.KindTrial,
			sessions.KindTrunk, sessions.KindPlan, sessions.KindItem, sessions.KindSession,
			sessions.KindSet} {
			for _, r := range c.doc.Records(kind) {
				for field, register := range r.Fields() {
					if !rapid.Bool().Draw(t, "change") {
						continue
					}
					v := record.Int(number.Draw(t, "number"))
					if _, is := register.Value().Text(); is {
						v = record.Text(rapid.String().Draw(t, "text"))
					}
					if _, err := c.pen.Write(c.doc, r.ID(), kind, field, v, startedMS+2); err != nil {
						continue // no record takes this
					}
				}
			}
		}
		if err := form.faultWithin(written(t, c.doc)); err != nil {
			t.Fatal(err)
		}
	})
}

// TestFHIR_Refers: every name is said once and has the form of a UUID, and every reference leads to
// one of them; the same record gives the same names.
func TestFHIR_Refers(t *testing.T) {
	bundle := written(t, full(t).doc)
	var names []string
	for _, e := range bundle["entry"].([]any) {
		name := e.(map[string]any)["fullUrl"].(string)
		if len(name) != len("urn:uuid:")+36 || slices.Contains(names, name) {
			t.Errorf("%s is said again, or is no UUID", name)
		}
		names = append(names, name)
	}
	to := map[string]int{}
	var walk func(any)
	walk = func(v any) {
		switch v := v.(type) {
		case map[string]any:
			for key, value := range v {
				if name, is := value.(string); is && key == "reference" {
					to[name]++
				}
				walk(value)
			}
		case []any:
			for _, value := range v {
				walk(value)
			}
		}
	}
	walk(bundle)
	for name := range to {
		if !slices.Contains(names, name) {
			t.Errorf("%s leads nowhere", name)
		}
	}
	if len(to) != 2 { // the person, and the plan that sets are based on
		t.Errorf("references: %v", to)
	}
	if again := written(t, full(t).doc); fmt.Sprint(again) != fmt.Sprint(bundle) {
		t.Error("the same record gives two Bundles")
	}
	// RFC 9562 (May 2024), appendix A.4: "www.example.com" among the names of DNS.
	dns := [16]byte{0x6b, 0xa7, 0xb8, 0x10, 0x9d, 0xad, 0x11, 0xd1, 0x80, 0xb4, 0, 0xc0, 0x4f, 0xd4,
		0x30, 0xc8}
	if got := uuid(dns, "www.example.com"); got != "2ed6657d-e927-568b-95e1-2665a8aea6a2" {
		t.Errorf("the UUID of RFC 9562 is %s", got)
	}
}

// said is an Observation in one line: status, code, value and parts.
func said(o map[string]any) string {
	value := func(of map[string]any) string {
		if q, is := of["valueQuantity"].(map[string]any); is {
			return fmt.Sprint(q["value"], " ", q["code"])
		}
		if n, is := of["valueInteger"]; is {
			return fmt.Sprint(n)
		}
		text, _ := of["valueString"].(string)
		return text
	}
	code := func(of map[string]any) string { return of["code"].(map[string]any)["text"].(string) }
	line := fmt.Sprint(o["status"], " ", code(o), " = ", value(o))
	parts, _ := o["component"].([]any)
	for _, p := range parts {
		line += "; " + code(p.(map[string]any)) + " " + value(p.(map[string]any))
	}
	return line
}

// TestFHIR_Says: what was held and carried is told in units of UCUM with both sides, and what was
// taken back as such. The right elbow down works the right side, a weight in the right hand the
// left (common practice, no source).
func TestFHIR_Says(t *testing.T) {
	bundle := written(t, full(t).doc)
	var got []string
	for _, o := range resources(bundle, "Observation") {
		got = append(got, said(o))
	}
	want := []string{
		"final Side-bridge hold: straight_leg_hold = 58.25 s; Side facing down right;" +
			" Side that works right; Ended by position",
		"cancelled Side-bridge hold: straight_leg_hold = 3 s; Side facing down left;" +
			" Side that works left; Ended by tester_error",
		"final Side-bridge hold: straight_leg_hold = 61 s; Side facing down left;" +
			" Side that works left; Ended by gave_up",
		"final Trunk hold: extensor = 101 s; Ended by limit",
		"final Pain, 0 to 10 = 3",
		"final Effort of the session, category-ratio scale 0 to 10 = 0",
		"final Set: suitcase_carry = ; Hand with the weight right; Side that works left;" +
			" Load 12.5 kg; Distance 40 m; Time 35.5 s; Set number 1; Repetitions 1",
		"entered-in-error Set: straight_leg_hold = 30 s; Side facing down left;" +
			" Side that works left; Asked of each repetition 10 s; Set number 2; Repetitions 3",
		"unknown Set: straight_leg_hold = 1 s; Side facing down left; Side that works left;" +
			" Repetitions 0",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	text := fmt.Sprint(bundle)
	for _, has := range []string{"code:72514-3", "system:http://loinc.org", "Taken back: wrong person",
		"Where: left hip", "2026-03-02T13:00:00.000+01:00", "2026-03-02T08:30:00.000-03:30",
		"12.5 kg in the right hand, where the left side works", "Trunk, the side that works: right"} {
		if !strings.Contains(text, has) {
			t.Errorf("it says nothing of %s", has)
		}
	}
	plans := resources(bundle, "CarePlan")
	if len(plans) != 2 || plans[0]["status"] != "completed" || plans[1]["status"] != "active" {
		t.Errorf("plans: %v", plans)
	}
}

// TestFHIR_Units: every unit is one of UCUM, by a validator from elsewhere, which refuses others.
func TestFHIR_Units(t *testing.T) {
	_, err := os.Stat(filepath.Join("outside", "node_modules", "@lhncbc"))
	if err != nil {
		t.Skip("the validator is not installed; scripts/test installs it")
	}
	codes := []string{}
	text := fmt.Sprint(written(t, full(t).doc))
	for _, rest := range strings.Split(text, "map[code:")[1:] {
		code, _, _ := strings.Cut(rest, " ")
		if strings.Contains(rest[:min(len(rest), 60)], ucum) && !slices.Contains(codes, code) {
			codes = append(codes, code)
		}
	}
	slices.Sort(codes)
	if !slices.Equal(codes, []string{"kg", "m", "s"}) {
		t.Errorf("units: %q", codes)
	}
	asked := append([]string{filepath.Join("outside", "units.mjs"), "lb", "sec"}, codes...)
	out, err := exec.Command("node", asked...).Output()
	if want := "lb invalid\nsec invalid\nkg valid\nm valid\ns valid\n"; err != nil ||
		string(out) != want {
		t.Errorf("%v\n%s", err, out)
	}
}
