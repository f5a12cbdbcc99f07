package app

import (
	"cmp"
	"sort"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// clientDocs returns the client records this phone holds, by name.
func (a *App) clientDocs() []*record.Doc {
	var all []*record.Doc
	names := map[record.ID]string{}
	for _, d := range a.docs() {
		if client, found := sessions.ClientIn(d); found {
			names[d.ID()] = client.Name
			all = append(all, d)
		}
	}
	sort.Slice(all, func(i, j int) bool {
		x, y := all[i].ID(), all[j].ID()
		return cmp.Or(cmp.Compare(names[x], names[y]), x.Compare(y)) < 0
	})
	return all
}

// people is the coach's home: who needs a look, and who is on track.
func (a *App) people() View {
	v := View{Screen: "list", Head: a.head("")}
	track := Section{Title: say("people.on_track")}
	looks := map[group][]Row{}
	n := 0
	for _, d := range a.clientDocs() {
		s := a.summary(d)
		if s.group == "" {
			track.Rows = append(track.Rows, s.row)
			continue
		}
		n++
		looks[s.group] = append(looks[s.group], s.row)
	}
	v.Finding = say("people.need_look", "n", n)
	for _, g := range groups {
		if len(looks[g]) > 0 {
			v.Sections = append(v.Sections, Section{
				Title: say("people.group_" + string(g)), Rows: looks[g],
			})
		}
	}
	if len(track.Rows) > 0 {
		v.Sections = append(v.Sections, track)
	}
	if len(v.Sections) == 0 {
		v.Finding = say("people.none")
		v.Sections = []Section{{Empty: say("people.none_lead")}}
	}
	v.Actions = append([]Action{
		{Label: say("people.add"), Route: "/new", Kind: "main"},
		{Label: say("practice.action"), Route: practiceRoute, Kind: "quiet"},
		{Label: say("look.action"), Route: "/look", Kind: "quiet"},
		a.lockAction(),
	}, a.passkeyActions()...)
	return v
}

// summary is one person's row of the list, kept until the record changes or
// the day does.
type summary struct {
	n        int
	practice int // operations of the practice's document
	day      int64
	group    group // "": needs no look
	row      Row
}

func (a *App) summary(d *record.Doc) summary {
	today := a.dayNumber(a.now.At.WallMS)
	if kept, found := a.cache[d.ID()]; found && kept.n == d.Len() && kept.day == today &&
		kept.practice == a.practiceLen() {
		return kept
	}
	s := a.summarise(d)
	s.n, s.day, s.practice = d.Len(), today, a.practiceLen()
	a.cache[d.ID()] = s
	return s
}

// dayNumber counts whole local days.
func (a *App) dayNumber(ms int64) int64 { return (ms + a.now.TZMin*60_000) / 86_400_000 }

func (a *App) summarise(d *record.Doc) summary {
	client, _ := sessions.ClientIn(d)
	s := summary{row: Row{Name: client.Name, Route: personRoute(d.ID())}}
	tests := sessions.Tests(d)
	if len(tests) > 0 {
		s.row.Bars = barsOf(tests[len(tests)-1])
	}
	for _, reason := range a.reasons(d, tests) {
		s.group = reason.group
		s.row.Lines = []Text{reason.line}
		s.row.Reason, s.row.Care = reason.word, reason.care
		if reason.word != "" {
			s.row.Bars = nil
		}
		return s
	}
	s.row.Lines = []Text{a.onTrack(d)}
	return s
}

// barsOf are the two holds as lengths; nil until both sides are held.
func barsOf(t sessions.Test) *Bars {
	left, hasLeft := t.Last(sides.WorksLeft)
	right, hasRight := t.Last(sides.WorksRight)
	longest := max(left.HeldMS, right.HeldMS)
	if !hasLeft || !hasRight || longest == 0 {
		return nil
	}
	return &Bars{
		Left:  float64(left.HeldMS) / float64(longest),
		Right: float64(right.HeldMS) / float64(longest),
	}
}

// onTrack says what comes next for someone who needs nothing now.
func (a *App) onTrack(d *record.Doc) Text {
	all := sessions.Sessions(d)
	if len(all) == 0 {
		return say("people.plan_ready")
	}
	last := all[len(all)-1]
	return say("people.last", "on", day(last.StartedMS), "n", len(last.Sets))
}
