package demo

import (
	"testing"
	"time"

	"evenhold/internal/planning"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
	"evenhold/sync/record"
)

// told is the story at fillNow, by the clients' names.
func told(t *testing.T) map[string]*record.Doc {
	t.Helper()
	s, err := tell(fillNow.UnixMilli())
	if err != nil {
		t.Fatal(err)
	}
	docs := map[string]*record.Doc{}
	for _, c := range s.clients {
		docs[c.about.Name] = c.doc
	}
	return docs
}

// daysAgo counts local days back from fillNow.
func daysAgo(ms int64) int64 {
	day := func(ms int64) int64 { return (ms + tzMin*minuteMS) / dayMS }
	return day(fillNow.UnixMilli()) - day(ms)
}

// TestTell_Stages holds what each client of the example is there to show. The numbers are the
// scenario's own.
func TestTell_Stages(t *testing.T) {
	docs := told(t)
	stages := []struct {
		name, stage string
		check       func(*testing.T, *record.Doc)
	}{
		{"Ilka B.", "pain gets worse", painGetsWorse},
		{"Tavita L.", "one load was set twice", loadWasSetTwice},
		{"Joaquín R.", "retest is overdue", retestIsOverdue},
		{"Nadia F.", "left gave way sooner", leftGaveWaySooner},
		{"Oskar W.", "not screened", isNotScreened},
		{"Priya S.", "a yes waits for a look", yesWaits},
		{"Ama K.", "on track", isOnTrack},
		{"Emre T.", "nothing logged", hasNothingLogged},
	}
	if len(docs) != len(stages) {
		t.Errorf("%d clients", len(docs))
	}
	for _, s := range stages {
		t.Run(s.name+" "+s.stage, func(t *testing.T) {
			d, found := docs[s.name]
			if !found {
				t.Fatal("no such client")
			}
			s.check(t, d)
			if n := len(d.Conflicts()); n > 0 && s.name != "Tavita L." {
				t.Errorf("%d conflicts", n)
			}
			if _, open := sessions.OpenFlag(d); open != (s.name == "Priya S.") {
				t.Errorf("open yes: %v", open)
			}
		})
	}
}

// painGetsWorse: the last pain lies far enough above those before to count, a change of 2 points
// ("Responsiveness of the numeric pain rating scale in patients with low back pain", Spine
// 2005;30(11):1331-1334).
func painGetsWorse(t *testing.T, d *record.Doc) {
	all := sessions.Sessions(d)
	last := all[len(all)-5:]
	for i, want := range []int64{2, 2, 3, 5, 6} {
		if last[i].Pain != want || last[i].PainPlace != "left hip" {
			t.Errorf("pain %d at %q, not %d", last[i].Pain, last[i].PainPlace, want)
		}
	}
	if last[4].Pain-last[2].Pain < 2 {
		t.Error("the change does not count")
	}
	sets := last[4].Sets
	if stop := sets[len(sets)-1].Stop; stop != sessions.StopPain {
		t.Errorf("the last set ended with %q", stop)
	}
}

func loadWasSetTwice(t *testing.T, d *record.Doc) {
	all := d.Conflicts()
	if len(all) != 1 || all[0].Field != sessions.FieldLoadWorksLeftG {
		t.Fatalf("conflicts: %+v", all)
	}
	register := all[0].Record.Register(all[0].Field)
	by := map[string]int64{}
	for _, op := range append(register.Also(), register.Winner()) {
		author, _ := sessions.AuthorOf(d, op.Stamp.Device)
		by[author.Name], _ = op.Value.Int()
	}
	if len(by) != 2 || by["Tavita L."] != 12_000 || by["Maren D."] != 20_000 {
		t.Errorf("recorded: %v", by)
	}
	done := sessions.Sessions(d)
	for _, set := range done[len(done)-1].Sets {
		if set.Item == all[0].Record.ID().String() && set.Working == sides.WorksLeft &&
			set.LoadG != 12_000 {
			t.Errorf("carried %d g, not what the phone showed", set.LoadG)
		}
	}
}

func retestIsOverdue(t *testing.T, d *record.Doc) {
	tests := sessions.Tests(d)
	if ago := daysAgo(tests[len(tests)-1].StartedMS); ago <= 5*7 {
		t.Errorf("tested %d days ago", ago)
	}
	done := sessions.Sessions(d)
	if ago := daysAgo(done[len(done)-2].StartedMS); ago > 7 {
		t.Errorf("last session but one %d days ago", ago)
	}
}

func leftGaveWaySooner(t *testing.T, d *record.Doc) {
	tests := sessions.Tests(d)
	if len(tests) != 1 || daysAgo(tests[0].StartedMS) != 2 {
		t.Fatalf("tests: %+v", tests)
	}
	left, _ := tests[0].Last(sides.WorksLeft)
	right, _ := tests[0].Last(sides.WorksRight)
	if ratio := float64(right.HeldMS) / float64(left.HeldMS); ratio < 1.8 || ratio > 2.4 {
		t.Errorf("right to left %.2f", ratio)
	}
	found := planning.Compare(tests[0], symmetry.DefaultModel())
	if found.Verdict != symmetry.LargerThanNoise ||
		found.Weaker != sides.WorksLeft {
		t.Errorf("%s, weaker %s", found.Verdict, found.Weaker)
	}
	if _, has := sessions.CurrentPlan(d); has {
		t.Error("there is a plan")
	}
}

func isNotScreened(t *testing.T, d *record.Doc) {
	c, _ := sessions.ClientIn(d)
	r, _ := d.Record(c.ID)
	if ago := daysAgo(r.Created().WallMS); ago != 1 {
		t.Errorf("added %d days ago", ago)
	}
	if len(sessions.Screenings(d)) != 0 || len(sessions.Tests(d)) != 0 {
		t.Error("there is more than the client")
	}
}

func yesWaits(t *testing.T, d *record.Doc) {
	open, _ := sessions.OpenFlag(d)
	if len(open.Yes) != 1 {
		t.Errorf("yes to %v", open.Yes)
	}
	for _, s := range sessions.Sessions(d) {
		if s.StartedMS > open.AnsweredMS {
			t.Errorf("a session %d days ago, after the yes", daysAgo(s.StartedMS))
		}
	}
}

// isOnTrack: slow gains on both sides, the first of them the largest, as learning would have it;
// work for today and none done.
func isOnTrack(t *testing.T, d *record.Doc) {
	tests := sessions.Tests(d)
	if len(tests) != 3 || daysAgo(tests[2].StartedMS) > 28 {
		t.Fatalf("tests: %+v", tests)
	}
	for _, w := range []sides.Working{sides.WorksLeft, sides.WorksRight} {
		var held [3]time.Duration
		for i := range held {
			trial, _ := tests[i].Last(w)
			held[i] = time.Duration(trial.HeldMS) * time.Millisecond
		}
		first, second := held[1]-held[0], held[2]-held[1]
		if second <= 0 || first <= second {
			t.Errorf("%s gained %v, then %v", w, first, second)
		}
	}
	plan, _ := sessions.CurrentPlan(d)
	if len(plan.Items) != 2 || plan.Items[0].Step != "straight_leg_hold" ||
		plan.Items[1].Step != "suitcase_carry" || plan.Items[1].LoadG[sides.WorksLeft] == 0 {
		t.Errorf("plan: %+v", plan.Items)
	}
	done := sessions.Sessions(d)
	if ago := daysAgo(done[len(done)-1].StartedMS); ago < 1 || ago > 7 {
		t.Errorf("last session %d days ago", ago)
	}
}

func hasNothingLogged(t *testing.T, d *record.Doc) {
	plan, has := sessions.CurrentPlan(d)
	if !has || daysAgo(plan.AcceptedMS) != 9 || len(sessions.Sessions(d)) != 0 {
		t.Errorf("plan %v of %d days ago, %d sessions", has, daysAgo(plan.AcceptedMS),
			len(sessions.Sessions(d)))
	}
}
