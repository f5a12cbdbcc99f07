package app

import (
	"strconv"
	"strings"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// How much a report lists, newest first, so that it stays on one page (ours).
const (
	reportDecisions = 8
	reportSessions  = 2
	reportDays      = 28
)

// reportScreen is all that a colleague needs to know of one person, to be printed.
func (a *App) reportScreen(d *record.Doc) View {
	v := View{Screen: "list", Head: a.headOf(d, say("report.title")), Finding: say("report.title")}
	v.Head.Back = personRoute(d.ID())
	if v.Care = a.flagCare(d); v.Care != nil {
		v.Care.Actions = nil
	}
	tests := sessions.Tests(d)
	v.Sections = append(v.Sections, a.reportWho(d), a.reportTests(d, tests))
	if len(tests) > 0 {
		last := tests[len(tests)-1]
		if len(planning.VisitOf(d, last).Held) > 0 {
			v.Sections = append(v.Sections, a.batterySection(d, last))
		}
		v.Sections = append(v.Sections, a.trendSections(d, tests)...)
	}
	v.Sections = append(v.Sections, a.reportPlan(d), reportDecided(d), Section{
		Title: say("person.log"), Rows: a.sessionRows(d, reportSessions, inAll),
		Empty: say("person.log_empty"),
	},
		Section{Title: say("page.cautions"), Rows: []Row{{
			Lines: []Text{say("today.stop_rule"), say("verdict.not_risk"), say("report.not_device")},
		}}})
	v.Sections = append(v.Sections, reportSources(v.Sections))
	v.Actions = []Action{{Label: say("report.print"), Do: "page.print", Kind: "main"}}
	return v
}

// printed is the command of the print button: the page prints, the core has nothing to do.
func (a *App) printed(*Answer) error { return nil }

func (a *App) reportWho(d *record.Doc) Section {
	client, _ := sessions.ClientIn(d)
	row := Row{Name: client.Name}
	if client.Complaint != "" {
		row.Lines = append(row.Lines, plain(client.Complaint))
	}
	row.Lines = append(row.Lines, say("report.body", "born", shown(client.BirthYear, 1),
		"cm", shown(client.StatureMM, 10), "kg", shown(client.MassG, 1000)))
	if all := sessions.Screenings(d); len(all) > 0 {
		row.Lines = append(row.Lines, say("report.screened", "on", day(all[len(all)-1].AnsweredMS)))
	}
	row.Lines = append(row.Lines, say("report.made", "on", day(a.now.At.WallMS), "who",
		plain(a.me.Name), "practice", plain(a.me.PracticeName),
		"version", editionText(a.practice().Edition.Version())))
	return Section{Rows: []Row{row}}
}

func (a *App) reportTests(d *record.Doc, tests []sessions.Test) Section {
	s := Section{Title: say("person.tests"), Rows: a.testRows(d, tests), Empty: say("reason.no_test")}
	for i := range s.Rows {
		s.Rows[i].Route = ""
	}
	if len(tests) > 0 {
		c := planning.Compare(tests[len(tests)-1], a.testNoise().Model)
		s.Rows[0].Lines = append(s.Rows[0].Lines, verdictDetail(c)...)
		s.Rows[0].Working = ptr(workingView(c.Working))
		s.Rows = append(s.Rows, a.noiseRows()...)
	}
	return s
}

// reportPlan lists the plan in force, and what was kept of it in the last four weeks.
func (a *App) reportPlan(d *record.Doc) Section {
	plan, found := sessions.CurrentPlan(d)
	if !found {
		return Section{Title: say("plan.where"), Empty: say("report.no_plan")}
	}
	s := planSection(plan)
	today := int(a.dayNumber(a.now.At.WallMS))
	for i, item := range plan.Items {
		n, kept, asked := 0, 0, 0
		for _, one := range planning.Done(d, item) {
			if today-one.Day < reportDays {
				n, kept, asked = n+1, kept+one.Kept, asked+one.Asked
			}
		}
		s.Rows[i].Lines = append(s.Rows[i].Lines,
			say("report.kept", "days", reportDays, "n", n, "kept", kept, "asked", asked))
	}
	return s
}

// reportDecided lists what was decided, with every rule that fired then and its numbers.
func reportDecided(d *record.Doc) Section {
	s := Section{Title: say("decide.before"), Empty: say("report.no_decision")}
	all := sessions.Decisions(d)
	for i := len(all) - 1; i >= max(len(all)-reportDecisions, 0); i-- {
		made := &all[i]
		if made.About == "plan" {
			s.Rows = append(s.Rows, Row{
				Title: say("report.plan_decided", "on", day(made.AtMS)),
				Lines: []Text{plain(made.Reason)}, Reason: say("decide.state_" + made.State),
			})
			continue
		}
		step, _ := progression.StepByID(made.Step)
		row := Row{
			Title: nameOf(step), Reason: say("decide.state_" + made.State),
			Lines: []Text{decisionText(*made)},
		}
		for _, line := range strings.Split(made.Rules, "\n") {
			if line != "" {
				row.Lines = append(row.Lines, ruleSaid(line))
			}
		}
		s.Rows = append(s.Rows, row)
	}
	return s
}

// ruleSaid words a line of rulesLine.
func ruleSaid(line string) Text {
	words := strings.Split(line, " ")
	numbers := map[string]float64{}
	for _, word := range words[1:] {
		name, value, _ := strings.Cut(word, "=")
		if n, err := strconv.ParseFloat(value, 64); err == nil {
			numbers[name] = n
		}
	}
	if !strings.HasPrefix(words[0], "rule.") {
		return plain(line)
	}
	return sayNumbers(words[0], numbers)
}

// reportSources takes the workings and the actions out of rows, which paper cannot open, and
// lists once where their numbers are from and how sure that is.
func reportSources(sections []Section) Section {
	s := Section{Title: say("page.sources")}
	seen := map[string]bool{}
	row := Row{Lines: []Text{}}
	for i := range sections {
		for j := range sections[i].Rows {
			r := &sections[i].Rows[j]
			if r.Working != nil {
				for _, from := range r.Working.Sources {
					line := strings.TrimSpace(from.Title + " " + from.Where)
					if line == "" || seen[line] {
						continue
					}
					seen[line] = true
					said := plain(line)
					if from.Title != "" {
						said = say("report.source", "from", said, "status", from.Status)
					}
					row.Lines = append(row.Lines, said)
				}
			}
			r.Working, r.Actions = nil, nil
		}
	}
	s.Rows = []Row{row}
	return s
}
