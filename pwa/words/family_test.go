package words_test

import (
	"go/ast"
	"maps"
	"regexp"
	"strings"
	"testing"

	"evenhold/internal/loading"
	"evenhold/internal/progression"
	"evenhold/internal/reference"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
	"evenhold/internal/working"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// families lists, for each computed key "head*tail", what can stand for *.
func families(t *testing.T) map[string][]string {
	t.Helper()
	side := []string{string(sides.WorksLeft), string(sides.WorksRight)}
	sample := append(samples(sides.WorksLeft), samples(sides.WorksRight)...)
	all := map[string][]string{
		"side.*":           side,
		"side.title_*":     side,
		"finding.*":        {string(symmetry.AboutEven), string(symmetry.CannotTell)},
		"finding.sooner_*": side,
		"verdict.*": {
			string(symmetry.AboutEven), string(symmetry.LargerThanNoise), string(symmetry.CannotTell),
			string(symmetry.TooFewTests), string(symmetry.Reached),
			string(symmetry.InSight), string(symmetry.NotInSight),
		},
		"verdict.shorter_*": side,
		"verdict.either_*":  side,
		"result.stop_*":     side,
		"result.since_*":    side,
		"trend.side_*":      side,
		"result.changed_*":  changes(),
		"*_longer":          spans(), "*_shorter": spans(), "*_either": spans(),
		"result.sample_*": side,
		"flag.*":          questions(),
		"flag.*.short":    questions(),
		"stop.*":          append(sessions.Stops(), sessions.TrunkStops()...),
		"stop.*.chip":     append(sessions.Stops(), sessions.TrunkStops()...),
		"work.span_*":     spanKinds(t),
		"kind.*":          kinds(t),
		"field.*":         storedFields(t),
		"refused.*":       wire.Codes(),
		"problem.*":       problemCodes(t),
		"sample.*":        sample,
		"status.*": {
			string(working.Seen), string(working.Computed), string(working.Memory),
			string(working.Practice), string(working.Estimate), string(working.Entered),
		},
		"out.*":              {"signin", "ended", "revoked", "proof"},
		"phones.state_*":     {"ended", "out", "wipe"},
		"knock.phone_*":      {"android", "apple", "computer", "other"},
		"capacity.side_*":    side,
		"capacity.unknown_*": side,
		"capacity.working_*": side,
		"capacity.past_*":    side,
		"capacity.end_*":     {string(loading.GaveWay), string(loading.AtLeast)},
		"course.working_*":   side,
		"course.missing_*":   {"stature", "mass"},
		"fit.carry_*":        side,
		"limit.*": {
			string(loading.LimitShare), string(loading.LimitGuard), string(loading.LimitStart),
			string(loading.LimitNoImplement),
		},
		"unit.*": units(t),
	}
	maps.Copy(all, batteryFamilies(side))
	maps.Copy(all, practiceFamilies())
	maps.Copy(all, decisionFamilies())
	return all
}

// practiceFamilies are of what a practice sets, and how a stored value is said.
func practiceFamilies() map[string][]string {
	return map[string][]string{
		"truth.*":     {"true", "false"},
		"implement.*": sessions.ImplementKinds(),

		"role.*":        {"owner", "coach", "assistant", "client"},
		"rights.of_*":   {"owner", "coach", "assistant", "client"},
		"staff.make_*":  {"coach", "assistant"},
		"staff.may_*":   {"coach", "assistant"},
		"rights.part_*": {sessions.KindItem, sessions.KindPractice},
		"edit.*":        editables(),
		"ladders.family_*": {
			string(progression.Holds), string(progression.Carries), string(progression.Lifts),
		},
		"samples.*": {
			string(reference.SideBridge), string(reference.Extensor), string(reference.Flexor),
		},
		"samples.side_*": {string(sides.WorksLeft), string(sides.WorksRight)},
	}
}

// decisionFamilies are of what was suggested and decided, and who is to be looked at for it.
func decisionFamilies() map[string][]string {
	return map[string][]string{
		"decide.word_*":    decisions(),
		"decide.suggest_*": decisions(),
		"decide.state_*":   {sessions.Accepted, sessions.Changed, sessions.Declined},
		"people.group_*":   {"flag", "ask", "decide", "retest", "other"},
	}
}

// batteryFamilies are of the holds of the trunk and their ratios.
func batteryFamilies(side []string) map[string][]string {
	return map[string][]string{
		"trunk.*":           sessions.TrunkHolds(),
		"trunk.pose_*":      sessions.TrunkHolds(),
		"trunk.time_*":      sessions.TrunkHolds(),
		"battery.do_*":      sessions.TrunkHolds(),
		"battery.sample_*":  sessions.TrunkHolds(),
		"battery.missing_*": append(sessions.TrunkHolds(), side...),
		"battery.bound_*":   append(sessions.TrunkHolds(), side...),
		"battery.*":         ratios(),
		"battery.is_*": {
			string(symmetry.InsideBand), string(symmetry.OutsideBand), string(symmetry.CannotTell),
		},
	}
}

func samples(w sides.Working) []string {
	var ids []string
	for _, test := range []reference.Test{
		reference.SideBridge, reference.Extensor, reference.Flexor,
	} {
		for _, sex := range []string{"", "female", "male"} {
			for _, s := range reference.Samples(test, w, sex) {
				ids = append(ids, s.ID)
			}
		}
	}
	return ids
}

func ratios() []string {
	var keys []string
	for _, r := range (symmetry.Battery{}).Ratios(symmetry.DefaultModel()) {
		keys = append(keys, r.Key)
	}
	return keys
}

// decisions are the verdicts on one item of a plan.
func decisions() []string {
	return []string{
		string(progression.Progress), string(progression.Stay), string(progression.Ease),
		string(progression.Retest), string(progression.Refer),
	}
}

// changes are the verdicts on a side from one test to the next.
func changes() []string {
	return []string{
		string(symmetry.Longer), string(symmetry.Shorter), string(symmetry.WithinNoise),
		string(symmetry.CannotTell),
	}
}

// spans are the intervals of a change that are said in words.
func spans() []string { return []string{"result.span", "trend.week"} }

// editables are the numbers of a step that a practice can set.
func editables() []string {
	var all []string
	for _, n := range progression.Numbers() {
		all = append(all, string(n.Name))
	}
	return all
}

func questions() []string {
	var ids []string
	for _, q := range sessions.Questions() {
		ids = append(ids, q.ID)
	}
	return ids
}

// spanKinds are the stretches that a set of two holds is made of.
func spanKinds(t *testing.T) []string {
	t.Helper()
	var all []string
	for _, s := range (sessions.Turn{Reps: 2, HoldMS: 1, RestRepMS: 1}).Spans() {
		all = append(all, s.Kind)
	}
	return all
}

// kinds are the values of the constants Kind… of the records.
func kinds(t *testing.T) []string {
	t.Helper()
	var all []string
	_, files := goFiles(t, internalDir+"/sessions")
	for _, file := range files {
		ast.Inspect(file, func(n ast.Node) bool {
			spec, ok := n.(*ast.ValueSpec)
			if !ok || len(spec.Values) != 1 || !strings.HasPrefix(spec.Names[0].Name, "Kind") {
				return true
			}
			if text, ok := literal(spec.Values[0]); ok {
				all = append(all, text)
			}
			return true
		})
	}
	if len(all) < 12 {
		t.Fatalf("only the kinds %q were found", all)
	}
	return all
}

// storedFields are the fields of all records: what is written by name, the
// answers of the safety screen, and the mark of a voided record.
func storedFields(t *testing.T) []string {
	t.Helper()
	set := map[string]bool{
		record.VoidedField: true, sessions.FieldLoadWorksLeftG: true,
		sessions.FieldLoadWorksRightG: true, sessions.FieldPainBefore: true,
		sessions.FieldPainMorning: true, sessions.FieldNoisePM: true, sessions.FieldNoiseFrom: true,
		sessions.FieldOwnSample: true,
	}
	for _, id := range questions() {
		set["q_"+id] = true
	}
	for _, field := range append(editables(), "cue1", "cue2", "cue3", "cue4",
		progression.EditHidden, progression.EditPlace, sessions.FieldLadder, sessions.FieldCues) {
		set[field] = true
	}
	writers := map[string]int{"text": 0, "number": 0, "count": 0, "truth": 0, "write": 2}
	for _, dir := range []string{internalDir + "/sessions", coreDir} {
		_, files := goFiles(t, dir)
		for _, file := range files {
			ast.Inspect(file, func(n ast.Node) bool {
				if name, ok := fieldOf(n, writers); ok {
					set[name] = true
				}
				return true
			})
		}
	}
	if len(set) < 50 {
		t.Fatalf("only the fields %q were found", sorted(set))
	}
	return sorted(set)
}

// fieldOf is the field that a node writes: f.text("name", …), a.write(d, id,
// "name", …), or FieldValue{Field: "name"}.
func fieldOf(n ast.Node, writers map[string]int) (string, bool) {
	switch n := n.(type) {
	case *ast.CallExpr:
		f, ok := n.Fun.(*ast.SelectorExpr)
		if !ok {
			return "", false
		}
		if at, ok := writers[f.Sel.Name]; ok && len(n.Args) > at+1 {
			return literal(n.Args[at])
		}
	case *ast.KeyValueExpr:
		if name, ok := n.Key.(*ast.Ident); ok && name.Name == "Field" {
			return literal(n.Value)
		}
	}
	return "", false
}

// problemCodes are the last parts of the keys that word a practice's answers.
func problemCodes(t *testing.T) []string {
	t.Helper()
	var all []string
	_, files := goFiles(t, coreDir)
	for _, file := range files {
		ast.Inspect(file, func(n ast.Node) bool {
			spec, ok := n.(*ast.ValueSpec)
			if !ok || spec.Names[0].Name != "problemKeys" {
				return true
			}
			for _, pair := range spec.Values[0].(*ast.CompositeLit).Elts {
				if code, ok := literal(pair.(*ast.KeyValueExpr).Value); ok {
					all = append(all, code)
				}
			}
			return true
		})
	}
	if len(all) == 0 {
		t.Fatal("no words found in problemKeys")
	}
	return all
}

// units are the units, in UCUM, of the numbers that show their working; those
// that are no plain word have keys of their own in the core.
func units(t *testing.T) []string {
	t.Helper()
	set := map[string]bool{}
	for _, dir := range []string{"loading", "symmetry", "reference", "progression"} {
		_, files := goFiles(t, internalDir+"/"+dir)
		for _, file := range files {
			ast.Inspect(file, func(n ast.Node) bool {
				pair, ok := n.(*ast.KeyValueExpr)
				if !ok {
					return true
				}
				if name, ok := pair.Key.(*ast.Ident); ok && name.Name == "Unit" {
					if unit, ok := literal(pair.Value); ok && unitShape.MatchString(unit) {
						set[unit] = true
					}
				}
				return true
			})
		}
	}
	if len(set) < 4 {
		t.Fatalf("only the units %q were found", sorted(set))
	}
	return sorted(set)
}

var unitShape = regexp.MustCompile(`^[A-Za-z]+$`)
