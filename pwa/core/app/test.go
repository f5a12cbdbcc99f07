package app

import (
	"math"

	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// testSteps are the variants that the side-hold test offers.
var testSteps = []string{"straight_leg_hold", "bent_knee_hold", "feet_elevated_hold"}

// runOf returns the test under way on the present route's person.
func (a *App) runOf() (*record.Doc, sessions.TestRun, error) {
	d, err := a.subject()
	if err != nil {
		return nil, sessions.TestRun{}, err
	}
	run, found := a.tests[d.ID().String()]
	if !found {
		return nil, run, refuse("phase", "", say("error.phase"))
	}
	return d, run, nil
}

// keepRun stores a test under way: at every step, before the screen shows it.
func (a *App) keepRun(run sessions.TestRun) {
	a.tests[run.Doc] = run
	a.put("run", "test:"+run.Doc, run)
}

func (a *App) dropRun(doc string) {
	delete(a.tests, doc)
	a.drop("run", "test:"+doc)
}

// prepareTest draws the first side and opens the timing screen. The draw uses
// the command's random bytes.
func (a *App) prepareTest(*Answer) error {
	d, values, err := a.entered()
	if err != nil {
		return err
	}
	if err := errFlagged(d); err != nil {
		return err
	}
	id := d.ID()
	if _, found := a.tests[id.String()]; found {
		return nil // already under way: the timing screen comes back
	}
	errs := map[string]Text{}
	step := oneOf(values, "step", errs, testSteps...)
	first := oneOf(values, "first", errs, "drawn", "left", "right")
	if len(errs) > 0 {
		return a.keepForm(values, []string{"step", "first"}, errs)
	}
	side, drawn := sides.Working(first), first == "drawn"
	if drawn {
		side = sides.WorksLeft
		if a.randomBit() {
			side = sides.WorksRight
		}
	}
	run := sessions.NewTestRun(id.String(), step, side, drawn)
	run.Facing = values["stand"] == "facing"
	run.TimeTold = values["told"] == "yes"
	run.Encouraged = values["told"] == "yes"
	run.TZMin = a.now.TZMin
	a.keepRun(run)
	delete(a.forms, a.route)
	return nil
}

func (a *App) randomBit() bool {
	if len(a.now.Random) == 0 {
		return false
	}
	c := a.now.Random[len(a.now.Random)-1]
	return (c >= '0' && c <= '9' && (c-'0')%2 == 1) || (c >= 'a' && (c-'a')%2 == 1)
}

// flipTest turns the two halves about: the tester walked to the other side.
func (a *App) flipTest(*Answer) error {
	_, run, err := a.runOf()
	if err != nil {
		return err
	}
	run.Facing = !run.Facing
	a.keepRun(run)
	return nil
}

func (a *App) startTrial(*Answer) error {
	_, run, err := a.runOf()
	if err != nil {
		return err
	}
	var args struct {
		Works sides.Working `json:"works"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	run, err = run.Begin(args.Works, a.now.At)
	if err != nil {
		return err
	}
	a.said = nil
	a.keepRun(run)
	return nil
}

// ghostMS is how soon after a start a stop is taken for a wet screen's second
// touch (ours).
const ghostMS = 700

func (a *App) stopTrial(*Answer) error {
	_, run, err := a.runOf()
	if err != nil {
		return err
	}
	if ms, _, err := sessions.Elapsed(run.Start, a.now.At); err == nil && ms < ghostMS {
		return nil
	}
	if run, err = run.Stop(a.now.At); err != nil {
		return err
	}
	a.keepRun(run)
	return nil
}

func (a *App) resumeTrial(*Answer) error { return a.step(sessions.TestRun.Resume) }

func (a *App) discardTrial(*Answer) error { return a.step(sessions.TestRun.Discard) }

func (a *App) step(move func(sessions.TestRun) (sessions.TestRun, error)) error {
	_, run, err := a.runOf()
	if err != nil {
		return err
	}
	if run, err = move(run); err != nil {
		return err
	}
	a.keepRun(run)
	return nil
}

// trialBecause writes the stopped hold with its reason. The first trial writes
// its test too, so that there is no test without a trial.
func (a *App) trialBecause(answer *Answer) error {
	d, run, err := a.runOf()
	if err != nil {
		return err
	}
	var args struct {
		Stop string `json:"stop"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	next, trial, err := run.Because(args.Stop)
	if err != nil {
		return err
	}
	if run.Trunk != "" {
		answer.Sync = true
		return a.keepTrunk(d, next, trial)
	}
	if next.Test == "" {
		test := sessions.Test{
			Step: run.Step, StartedMS: run.Start.WallMS, TZMin: run.TZMin, First: run.First,
			Drawn: run.Drawn, TimeTold: run.TimeTold, Encouraged: run.Encouraged,
		}
		id, err := a.create(d, sessions.KindTest, test.Values())
		if err != nil {
			return err
		}
		next.Test = id.String()
	}
	trial.Test = next.Test
	if _, err := a.create(d, sessions.KindTrial, trial.Values()); err != nil {
		return err
	}
	a.keepRun(next)
	answer.Sync = true
	if next.Phase == sessions.TestDone {
		return a.finishTest(d, next)
	}
	return nil
}

// finishTest notes the rest between the sides and shows the result.
func (a *App) finishTest(d *record.Doc, run sessions.TestRun) error {
	id, err := record.ParseID(run.Test)
	if err != nil {
		return err
	}
	if err := a.write(d, id, "finishedMS", record.Int(a.now.At.WallMS)); err != nil {
		return err
	}
	if run.RestNote != "" {
		if err := a.write(d, id, "restNote", record.Text(run.RestNote)); err != nil {
			return err
		}
	}
	if err := a.keepNoise(d, id); err != nil {
		return err
	}
	a.dropRun(run.Doc)
	a.route = personRoute(d.ID()) + "/result/" + run.Test
	return nil
}

// endTestRest cuts the rest short, with a note.
func (a *App) endTestRest(*Answer) error {
	values, err := a.values()
	if err != nil {
		return err
	}
	_, run, err := a.runOf()
	if err != nil {
		return err
	}
	errs := map[string]Text{}
	note := line(values, "note", errs)
	if len(errs) == 0 && note == "" {
		errs["note"] = say("error.rest_note")
	}
	if len(errs) > 0 {
		return a.keepForm(values, []string{"note"}, errs)
	}
	if run, err = run.EndRest(note); err != nil {
		return err
	}
	delete(a.forms, a.route)
	a.keepRun(run)
	return nil
}

// abandonTest leaves the test; trials already written stay written.
func (a *App) abandonTest(answer *Answer) error {
	d, run, err := a.runOf()
	if err != nil {
		return err
	}
	a.dropRun(run.Doc)
	a.route = personRoute(d.ID())
	answer.Sync = true
	if run.Test != "" {
		a.said = &Said{Text: say("said.test_kept")}
	}
	return nil
}

// testScreen shows the set-up, or the two halves of a test under way.
func (a *App) testScreen(d *record.Doc) View {
	run, found := a.tests[d.ID().String()]
	if !found {
		return a.testSetup(d)
	}
	v := View{Screen: "test", Phase: "timing", Head: a.headOf(d, whereOf(run))}
	v.Busy = run.Phase == sessions.TestRunning || run.Phase == sessions.TestReason
	if !v.Busy {
		v.Head.Back = personRoute(d.ID())
	}
	// Seen from behind, the body's left is on the left; facing, on the right.
	order := []sides.Working{sides.WorksLeft, sides.WorksRight}
	switch {
	case run.Trunk != "":
		order = []sides.Working{""}
	case run.Facing:
		order = []sides.Working{sides.WorksRight, sides.WorksLeft}
	}
	for _, w := range order {
		v.Halves = append(v.Halves, a.half(run, w))
	}
	v.Foot = a.testFoot(run)
	return v
}

func whereOf(run sessions.TestRun) Text {
	step, _ := progression.StepByID(run.Step)
	switch {
	case run.Trunk != "":
		return say("trunk.where")
	case run.Facing:
		return say("test.where_facing", "step", nameOf(step))
	}
	return say("test.where_behind", "step", nameOf(step))
}

func (a *App) testSetup(d *record.Doc) View {
	v := View{
		Screen: "test", Phase: "setup", Head: a.headOf(d, say("test.where")),
		Finding: say("test.finding"),
		Lines: []Text{
			say("test.setup_pose"), say("test.setup_time"), say("test.setup_rest"),
			say("test.caution"),
		},
		Figure: a.figure(d, "straight_leg_hold", sides.WorksRight, 0),
	}
	v.Head.Back = personRoute(d.ID())
	var variants []Option
	for _, id := range testSteps {
		step, _ := progression.StepByID(id)
		variants = append(variants, Option{Value: id, Label: nameOf(step)})
	}
	v.Fields = a.forms[a.route].show([]Field{
		{
			ID: "step", Kind: "choice", Label: say("test.variant"), Value: testSteps[0],
			Options: variants, Hint: say("test.variant_hint"),
		},
		{
			ID: "first", Kind: "choice", Label: say("test.first"), Value: "drawn",
			Options: []Option{
				{Value: "drawn", Label: say("test.first_drawn")},
				{Value: "left", Label: say("test.first_left")},
				{Value: "right", Label: say("test.first_right")},
			},
		},
		{
			ID: "stand", Kind: "choice", Label: say("test.stand"), Value: "behind",
			Options: []Option{
				{Value: "behind", Label: say("test.stand_behind")},
				{Value: "facing", Label: say("test.stand_facing")},
			},
		},
		toldField(),
	})
	v.Actions = []Action{{
		Label: say("test.begin"), Do: "test.prepare", Kind: "main", Form: true,
	}}
	for _, what := range sessions.TrunkHolds() {
		v.Actions = append(v.Actions, Action{
			Label: say("battery.do_" + what), Route: trunkRoute(d, what), Kind: "quiet",
		})
	}
	if v.Care = a.flagCare(d); v.Care != nil {
		v.Actions = nil
	}
	return v
}

func toldField() Field {
	return Field{
		ID: "told", Kind: "choice", Label: say("test.told"), Value: "no",
		Hint: say("test.told_hint"),
		Options: []Option{
			{Value: "no", Label: say("test.told_no")},
			{Value: "yes", Label: say("test.told_yes")},
		},
	}
}

func (a *App) half(run sessions.TestRun, w sides.Working) Half {
	h := Half{State: "waiting"}
	if w == "" {
		h.Title, h.Notes = say("trunk."+run.Trunk), []Text{}
		if run.Phase == sessions.TestReady { // afterwards the time needs the room
			h.Notes = append(h.Notes, say("trunk.time_"+run.Trunk))
		}
	} else {
		h.Side, h.Title = string(w), say("side.title_"+string(w))
		h.Notes = downNotes(sides.DownFor(w))
	}
	works := map[string]any{"works": string(w)}
	if trial, held := run.Held(w); held {
		h.State, h.HeldS = "done", ptr(seconds(trial.HeldMS))
		h.Result = say("stop." + trial.Stop)
		if trial.Clock == sessions.ClockWall {
			h.Result = say("stop.by_wall", "why", say("stop."+trial.Stop))
		}
		h.Act = say("test.done")
	}
	if run.Due != w {
		return h
	}
	switch run.Phase {
	case sessions.TestReady:
		h.State, h.Act, h.Do, h.Args = "next", say("test.touch_start"), "test.start", works
		h.HeldS, h.Result = nil, ""
	case sessions.TestRest:
		// A touch that comes too early is told so. Without it the page, which counts the
		// rest down by itself, would have nothing to touch when it ends.
		h.Act, h.Do, h.Args = say("test.next_after_rest"), "test.start", works
		if a.canStart(run) {
			h.State, h.Act = "next", say("test.touch_start")
		}
	case sessions.TestRunning:
		h.State, h.Act, h.Do = "running", say("test.touch_stop"), "test.stop"
		h.Args, h.Since = works, &run.Start
		h.HeldS, h.Result = nil, ""
	case sessions.TestReason:
		h.State, h.HeldS = "done", ptr(seconds(run.HeldMS))
		h.Result, h.Act = say("test.stopped"), ""
		if run.Clock == sessions.ClockWall {
			h.Result = say("test.stopped_by_wall")
		}
	}
	return h
}

// canStart reports whether the second side may start: the rest has run, or a
// note cut it short.
func (a *App) canStart(run sessions.TestRun) bool {
	rested, _, err := sessions.Elapsed(run.RestFrom, a.now.At)
	return run.RestNote != "" || err != nil || rested >= sessions.RestBetweenSidesMS
}

func (a *App) testFoot(run sessions.TestRun) *TestFoot {
	foot := &TestFoot{}
	switch run.Phase {
	case sessions.TestReady:
		foot.Title = say("test.foot_ready")
		foot.Chips = []Action{{Label: say("test.abandon"), Do: "test.abandon"}}
		if run.Trunk == "" {
			foot.Chips = append([]Action{{Label: say("test.flip"), Do: "test.flip"}}, foot.Chips...)
		} else {
			foot.Title = say("trunk.foot_ready")
		}
	case sessions.TestRunning:
		foot.Chips = faultChips(run.Step)
		if ms, _, err := sessions.Elapsed(run.Start, a.now.At); err != nil || ms > sessions.MaxHoldMS {
			// Longer than a hold can be: forgotten, or the clock was set.
			foot.Title = say("test.too_long")
			foot.Chips = []Action{{Label: say("test.discard"), Do: "test.discard"}}
		}
	case sessions.TestReason:
		foot.Title = say("test.why")
		for _, stop := range run.Stops() {
			foot.Chips = append(foot.Chips, Action{
				Label: say("stop." + stop + ".chip"), Do: "test.because",
				Args: map[string]any{"stop": stop},
			})
		}
		foot.Chips = append(foot.Chips,
			Action{Label: say("test.resume"), Do: "test.resume", Kind: "quiet"},
			Action{Label: say("test.discard"), Do: "test.discard", Kind: "quiet"})
	case sessions.TestRest:
		a.restFoot(foot, run)
	}
	return foot
}

func (a *App) restFoot(foot *TestFoot, run sessions.TestRun) {
	next := downNotes(sides.DownFor(run.Due))
	both := []any{"lie", next[0], "works", next[1]}
	if a.canStart(run) {
		foot.Title = say("test.rested", both...)
		foot.Chips = []Action{{Label: say("test.flip"), Do: "test.flip"}}
		return
	}
	foot.Title = say("test.resting", both...)
	foot.Until = ptr(run.RestFrom.At(sessions.RestBetweenSidesMS))
	foot.RestS = sessions.RestBetweenSidesMS / 1000
	fields := a.forms[a.route].show([]Field{{
		ID: "note", Kind: "text", Label: say("test.rest_note"), Hint: say("test.rest_hint"),
	}})
	foot.Field = &fields[0]
	foot.Chips = []Action{{Label: say("test.rest_short"), Do: "test.rest", Form: true}}
}

// faultChips are what to look for while the hold runs: a tap says the cue.
func faultChips(stepID string) []Action {
	step, _ := progression.StepByID(stepID)
	var chips []Action
	for _, f := range step.Faults[:min(3, len(step.Faults))] {
		chips = append(chips, Action{
			Label: say(f.Key), Say: say(f.Cue),
		})
	}
	return chips
}

func runRoute(d *record.Doc, run sessions.TestRun) string {
	if run.Trunk != "" {
		return trunkRoute(d, run.Trunk)
	}
	return personRoute(d.ID()) + "/test"
}

func (a *App) runningTest(d *record.Doc, run sessions.TestRun) *Action {
	client, _ := sessions.ClientIn(d)
	label := say("running.test", "name", client.Name)
	if run.Phase == sessions.TestRunning {
		label = say("running.hold", "name", client.Name, "at", clockTime(run.Start.WallMS))
	}
	return &Action{Label: label, Route: runRoute(d, run)}
}

// seconds shows a hold in whole seconds, as a stopwatch does: cut, not rounded.
func seconds(ms int64) int64 { return int64(math.Floor(float64(ms) / 1000)) }
