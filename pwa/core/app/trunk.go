package app

import (
	"slices"
	"strings"

	"evenhold/internal/planning"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// errFlagged withholds what an open red flag forbids.
func errFlagged(d *record.Doc) error {
	if _, isFlagged := sessions.OpenFlag(d); isFlagged {
		return refuse("withheld", "", say("refuse.red_flag_open"))
	}
	return nil
}

func trunkRoute(d *record.Doc, what string) string { return personRoute(d.ID()) + "/hold/" + what }

// prepareTrunk opens the timing screen of the trunk hold that the route names.
func (a *App) prepareTrunk(*Answer) error {
	d, values, err := a.entered()
	if err != nil {
		return err
	}
	what := a.route[strings.LastIndexByte(a.route, '/')+1:]
	if !slices.Contains(sessions.TrunkHolds(), what) {
		return refuse("unknown_record", "", say("error.unknown_record"))
	}
	if err := errFlagged(d); err != nil {
		return err
	}
	if _, isUnderWay := a.tests[d.ID().String()]; isUnderWay {
		return nil // the timing screen comes back
	}
	run := sessions.NewTrunkRun(d.ID().String(), what)
	run.TimeTold, run.TZMin = values["told"] == "yes", a.now.TZMin
	a.keepRun(run)
	return nil
}

// keepTrunk writes a stopped trunk hold.
func (a *App) keepTrunk(d *record.Doc, run sessions.TestRun, held sessions.Trial) error {
	hold := sessions.Trunk{
		What: run.Trunk, StartedMS: held.StartedMS, TZMin: run.TZMin, HeldMS: held.HeldMS,
		Clock: held.Clock, Stop: held.Stop, IsTold: run.TimeTold,
	}
	if _, err := a.create(d, sessions.KindTrunk, hold.Values()); err != nil {
		return err
	}
	if run.Phase != sessions.TestDone {
		a.keepRun(run)
		return nil
	}
	a.dropRun(run.Doc)
	a.route = personRoute(d.ID())
	a.said = &Said{Text: say("said.trunk", "s", seconds(hold.HeldMS))}
	tests := sessions.Tests(d)
	for i := len(tests) - 1; i >= 0; i-- {
		if _, isSameDay := planning.VisitOf(d, tests[i]).Held[hold.What]; isSameDay {
			a.route += "/result/" + tests[i].ID.String()
			break
		}
	}
	return nil
}

// trunkSetup says how a trunk hold is set up, and who should not do it.
func (a *App) trunkSetup(d *record.Doc, what string) View {
	v := View{
		Screen: "test", Phase: "setup", Head: a.headOf(d, say("trunk.where")),
		Finding: say("trunk." + what), Care: a.flagCare(d),
	}
	v.Head.Back = personRoute(d.ID())
	if v.Care != nil {
		return v
	}
	v.Care = &Care{Title: say("trunk.care"), Lines: []Text{say("trunk.not_for"), say("trunk.stop")}}
	v.Lines = []Text{
		say("trunk.pose_" + what), say("trunk.time_" + what), say("trunk.rest"),
	}
	v.Fields = []Field{toldField()}
	v.Actions = []Action{{Label: say("test.begin"), Do: "trunk.prepare", Kind: "main", Form: true}}
	return v
}

// trunkRows list the last trunk holds on a person's page.
func trunkRows(d *record.Doc) []Row {
	var rows []Row
	all := sessions.Trunks(d)
	for i := len(all) - 1; i >= 0 && len(rows) < testLines; i-- {
		rows = append(rows, Row{
			Title: say("trunk." + all[i].What),
			Lines: []Text{trunkText(all[i]), say("trunk.on", "on", day(all[i].StartedMS))},
		})
	}
	return rows
}

func trunkText(t sessions.Trunk) Text {
	key := "trunk.held"
	if t.IsBound() {
		key = "trunk.at_least"
	}
	return say(key, "s", seconds(t.HeldMS), "why", say("stop."+t.Stop))
}
