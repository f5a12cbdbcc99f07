package twin_test

import (
	"math/rand"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/twin"
)

func id(device, seq uint64) record.ID { return record.ID{Device: clock.Device(device), Seq: seq} }

func span(of record.ID, startS, lengthS int64, values ...int64) twin.Candidate {
	return twin.Candidate{
		ID: of, Category: "x", StartMS: startS * 1000, LengthMS: lengthS * 1000, Values: values,
	}
}

// TestCompare_T1 is worked by hand from the rule.
func TestCompare_T1(t *testing.T) {
	a := span(id(1, 1), 1000, 40, 40)
	other := span(id(2, 1), 1000, 40, 40)
	other.Category = "y"
	tests := []struct {
		name string
		with twin.Candidate
		want twin.Score
	}{
		{"alike in all", span(id(2, 1), 1000, 40, 40), twin.Score{1000, 1000, 1000}},
		// Widened, 985 to 1055 and 990 to 1060 meet for 65 of 70 s.
		{"five seconds late", span(id(2, 1), 1005, 40, 40), twin.Score{928, 1000, 928}},
		{"half the value", span(id(2, 1), 1000, 40, 20), twin.Score{1000, 500, 500}},
		{"a value not said", span(id(2, 1), 1000, 40, 0), twin.Score{1000, 1000, 1000}},
		{"within the other", span(id(2, 1), 1010, 10, 40), twin.Score{1000, 1000, 1000}},
		{"just too late", span(id(2, 1), 1070, 40, 40), twin.Score{}},
		{"the same device", span(id(1, 2), 1000, 40, 40), twin.Score{}},
		{"another category", other, twin.Score{}},
		{"below zero", span(id(2, 1), 1000, -1, 40), twin.Score{}},
		{"beyond the calendar", span(id(2, 1), 1<<60, 40, 40), twin.Score{}},
	}
	for _, tt := range tests {
		if got := twin.Compare(a, tt.with); got != tt.want {
			t.Errorf("%s: %+v, want %+v", tt.name, got, tt.want)
		}
		if twin.Compare(a, tt.with) != twin.Compare(tt.with, a) {
			t.Errorf("%s: the score depends on who comes first", tt.name)
		}
	}
}

func TestPropose_T2(t *testing.T) {
	a, b := span(id(1, 1), 1000, 40, 40), span(id(2, 1), 1002, 40, 41)
	c := span(id(3, 1), 1010, 40, 30)
	next := span(id(1, 2), 1030, 40, 40) // the first device's next effort
	pairs := func(said ...twin.Answer) [][2]record.ID {
		var all [][2]record.ID
		for _, p := range twin.Propose([]twin.Candidate{next, c, b, a}, twin.Heard(said)) {
			all = append(all, [2]record.ID{p.A, p.B})
		}
		return all
	}
	ab, bc, ac := [2]record.ID{a.ID, b.ID}, [2]record.ID{b.ID, c.ID}, [2]record.ID{a.ID, c.ID}
	nextC := [2]record.ID{next.ID, c.ID}
	got := pairs()
	if !slices.Contains(got, ab) || slices.Contains(got, ac) && slices.Contains(got, bc) {
		t.Errorf("proposed %v: a~b is best, and of a~c and b~c one says all", got)
	}
	same := twin.Answer{A: a.ID, B: b.ID, Same: true, Keep: a.ID}
	if got := pairs(same); slices.Contains(got, ab) {
		t.Errorf("a joined pair is proposed again: %v", got)
	}
	for _, p := range pairs() {
		if p == ab {
			continue
		}
		declined := twin.Answer{A: p[1], B: p[0]}
		if got := pairs(declined); slices.Contains(got, p) {
			t.Errorf("the declined pair %v is proposed again: %v", p, got)
		}
	}
	sameC := twin.Answer{A: a.ID, B: c.ID, Same: true, Keep: a.ID}
	if got := pairs(same, sameC); slices.Contains(got, nextC) {
		t.Errorf("proposed %v: the first device would stand in a group twice", got)
	}
}

func TestPropose_T4_BothSaid(t *testing.T) {
	a, b := span(id(1, 1), 1000, 40), span(id(2, 1), 1000, 40)
	said := twin.Heard([]twin.Answer{
		{A: a.ID, B: b.ID, Same: true, Keep: a.ID}, {A: b.ID, B: a.ID},
	})
	if !said.IsDisputed(b.ID, a.ID) {
		t.Error("not disputed")
	}
	if got := said.Groups().Of(a.ID); len(got) != 1 {
		t.Errorf("joined %v though one person said apart", got)
	}
	if got := twin.Propose([]twin.Candidate{a, b}, said); len(got) != 1 {
		t.Errorf("proposed %v, want the pair once", got)
	}
}

func TestGroups_T3_WhichCounts(t *testing.T) {
	a, b, c := id(1, 1), id(2, 1), id(3, 1)
	chain := twin.Heard([]twin.Answer{
		{A: a, B: b, Same: true, Keep: b}, {A: c, B: b, Same: true, Keep: c},
	}).Groups()
	for _, tt := range []struct {
		name string
		live []record.ID
		want record.ID
	}{
		{"the one nobody passed over", []record.ID{a, b, c}, c},
		{"it was deleted: the first of the rest", []record.ID{a, b}, a},
		{"one is left", []record.ID{b}, b},
	} {
		got, found := chain.Counted(b, func(id record.ID) bool { return slices.Contains(tt.live, id) })
		if !found || got != tt.want {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
	if _, found := chain.Counted(a, func(record.ID) bool { return false }); found {
		t.Error("a deleted record counts")
	}
}

// TestGroups_T3_AnyOrder: however answers and their order fall, joined is the reflexive,
// symmetric and transitive closure of the undisputed pairs, worked out here by the slow
// way, and each group counts once.
func TestGroups_T3_AnyOrder(t *testing.T) {
	joins := 0
	rapid.Check(t, func(rt *rapid.T) {
		var ids []record.ID
		for i := range rapid.IntRange(2, 9).Draw(rt, "records") {
			ids = append(ids, id(uint64(i%4+1), uint64(i+1)))
		}
		any := rapid.SampledFrom(ids)
		var said []twin.Answer
		for range rapid.IntRange(0, 12).Draw(rt, "answers") {
			one := twin.Answer{A: any.Draw(rt, "a"), B: any.Draw(rt, "b"), Keep: any.Draw(rt, "keep")}
			one.Same = rapid.IntRange(0, 3).Draw(rt, "same") > 0
			said = append(said, one)
		}
		turned := slices.Clone(said)
		rand.New(rand.NewSource(int64(len(said)))).Shuffle(len(turned), func(i, j int) {
			turned[i], turned[j] = turned[j], turned[i]
		})
		groups, again := twin.Heard(said).Groups(), twin.Heard(turned).Groups()
		live := func(id record.ID) bool { return id.Seq%3 != 0 }
		counted := map[record.ID]bool{}
		for _, x := range ids {
			if !slices.Equal(groups.Of(x), again.Of(x)) {
				rt.Fatalf("%v: %v and %v", x, groups.Of(x), again.Of(x))
			}
			if want := closure(x, said); !slices.Equal(groups.Of(x), want) {
				rt.Fatalf("%v is joined with %v, want %v", x, groups.Of(x), want)
			}
			joins += len(groups.Of(x)) - 1
			one, found := groups.Counted(x, live)
			two, foundToo := again.Counted(x, live)
			if one != two || found != foundToo || found != slices.ContainsFunc(groups.Of(x), live) {
				rt.Fatalf("%v: counts %v %v, in another order %v %v", x, one, found, two, foundToo)
			}
			if found && !live(one) {
				rt.Fatalf("%v: the deleted %v counts", x, one)
			}
			for _, other := range groups.Of(x) {
				if counts, _ := groups.Counted(other, live); counts != one {
					rt.Fatalf("%v and %v of one group count %v and %v", x, other, one, counts)
				}
			}
			counted[one] = true
		}
	})
	if joins == 0 {
		t.Error("nothing was ever joined")
	}
}

// closure walks the undisputed joins from x.
func closure(x record.ID, said []twin.Answer) []record.ID {
	declined := func(a, b record.ID) bool {
		return slices.ContainsFunc(said, func(s twin.Answer) bool {
			return !s.Same && (s.A == a && s.B == b || s.A == b && s.B == a)
		})
	}
	all := []record.ID{x}
	for grown := true; grown; {
		grown = false
		for _, s := range said {
			isPair := s.Same && s.A != s.B && (s.Keep == s.A || s.Keep == s.B)
			hasA, hasB := slices.Contains(all, s.A), slices.Contains(all, s.B)
			if !isPair || hasA == hasB || declined(s.A, s.B) {
				continue
			}
			grown = true
			if hasA {
				all = append(all, s.B)
			} else {
				all = append(all, s.A)
			}
		}
	}
	slices.SortFunc(all, record.ID.Compare)
	return all
}

// TestPropose_T2_Any: proposals come in one order whatever the order of the candidates,
// each is a pair that scores enough, and taking all of them joins no device twice.
func TestPropose_T2_Any(t *testing.T) {
	proposed := 0
	rapid.Check(t, func(rt *rapid.T) {
		var all []twin.Candidate
		for i := range rapid.IntRange(0, 12).Draw(rt, "records") {
			of := id(rapid.Uint64Range(1, 4).Draw(rt, "device"), uint64(i+1))
			all = append(all, span(of, rapid.Int64Range(1000, 1200).Draw(rt, "start"),
				rapid.Int64Range(0, 60).Draw(rt, "length"), rapid.Int64Range(0, 60).Draw(rt, "value")))
		}
		got := twin.Propose(all, twin.Heard(nil))
		slices.Reverse(all)
		if again := twin.Propose(all, twin.Heard(nil)); !slices.Equal(got, again) {
			rt.Fatalf("%v, in another order %v", got, again)
		}
		var said []twin.Answer
		for _, p := range got {
			if p.Score.Permille < twin.Least || p.Score.Permille > 1000 {
				rt.Fatalf("proposed at %+v", p.Score)
			}
			said = append(said, twin.Answer{A: p.A, B: p.B, Same: true, Keep: p.A})
		}
		proposed += len(got)
		groups := twin.Heard(said).Groups()
		for _, c := range all {
			seen := map[clock.Device]bool{}
			for _, member := range groups.Of(c.ID) {
				if seen[member.Device] {
					rt.Fatalf("%v: device %v stands twice", groups.Of(c.ID), member.Device)
				}
				seen[member.Device] = true
			}
		}
	})
	if proposed == 0 {
		t.Error("nothing was ever proposed")
	}
}
