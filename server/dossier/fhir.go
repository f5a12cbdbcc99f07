package dossier

import (
	"cmp"
	"crypto/sha1"
	"fmt"
	"maps"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// node is an object of JSON.
type node = map[string]any

// Systems that codes are from. UCUM's codes for the three units are s, kg and m (The Unified Code
// for Units of Measure). LOINC 72514-3 is "Pain severity - 0-10 verbal numeric rating [Score] -
// Reported". Nothing else is coded: which published code a side-bridge hold or a side of the trunk
// should have, we do not know, and a wrong code is worse than words.
const (
	ucum  = "http://unitsofmeasure.org"
	loinc = "http://loinc.org"
)

// notCounted is the note of what is neither taken back nor counted.
const notCounted = "The app leaves this out: it was told twice, or what it belongs to is missing."

// bundle gathers what FHIR has a form for.
type bundle struct {
	doc     *record.Doc
	patient node // reference
	counted map[record.ID]bool
	entries []any
}

// fhir returns a client's record as FHIR R4 (HL7 FHIR Release 4, version 4.0.1, 2019): a collection
// of one Patient, a CarePlan for each plan and an Observation for each hold, set, pain and effort.
// What was taken back is in it as entered-in-error. Every reference leads to something in it.
//
// Both sides are told of whatever has sides: the hand or the side facing down, and the side that
// works.
func fhir(doc *record.Doc) node {
	b := bundle{doc: doc, counted: map[record.ID]bool{},
		patient: node{"reference": urn("Patient", doc.ID())}}
	for _, t := range sessions.Tests(doc) {
		for _, trial := range t.Trials {
			b.counted[trial.ID] = true
		}
	}
	for _, t := range sessions.Trunks(doc) {
		b.counted[t.ID] = true
	}
	for _, s := range sessions.Sessions(doc) {
		b.counted[s.ID] = true
		for _, set := range s.Sets {
			b.counted[set.ID] = true
		}
	}
	b.addPatient()
	b.addPlans()
	for _, r := range doc.Records(sessions.KindTrial) {
		b.addTrial(r)
	}
	for _, r := range doc.Records(sessions.KindTrunk) {
		b.addTrunk(r)
	}
	for _, r := range doc.Records(sessions.KindSession) {
		b.addSession(r)
	}
	for _, r := range doc.Records(sessions.KindSet) {
		b.addSet(r)
	}
	return node{"resourceType": "Bundle", "type": "collection", "entry": b.entries}
}

func (b *bundle) add(url string, resource node) {
	b.entries = append(b.entries, node{"fullUrl": url, "resource": resource})
}

func (b *bundle) addPatient() {
	client, _ := sessions.ClientIn(b.doc)
	p := node{"resourceType": "Patient", "gender": "unknown",
		"identifier": []any{node{"value": b.doc.ID().String()}}}
	if name := plain(client.Name); name != "" {
		p["name"] = []any{node{"text": name}}
	}
	if client.Sex == "female" || client.Sex == "male" {
		p["gender"] = client.Sex
	}
	if client.BirthYear >= 1000 && client.BirthYear <= 9999 {
		p["birthDate"] = strconv.FormatInt(client.BirthYear, 10)
	}
	b.add(urn("Patient", b.doc.ID()), p)
}

func (b *bundle) addPlans() {
	current, _ := sessions.CurrentPlan(b.doc)
	waits := map[record.ID]bool{}
	for _, item := range current.Items {
		waits[item.ID] = item.Waits
	}
	for _, r := range b.doc.Records(sessions.KindPlan) {
		status, doing := "completed", "completed"
		switch {
		case r.IsVoided():
			status, doing = "entered-in-error", "entered-in-error"
		case r.ID() == current.ID:
			status, doing = "active", "in-progress"
		}
		p := node{"resourceType": "CarePlan", "status": status, "intent": "plan",
			"subject": b.patient, "title": "Side-to-side trunk endurance"}
		if at := moment(number(r, "acceptedMS"), 0); at != "" {
			p["created"] = at
		}
		var activities []any
		for _, item := range sessions.Items(b.doc) {
			if item.Plan != r.ID().String() {
				continue
			}
			detail := node{"status": doing, "code": words(item.Step), "description": dose(item)}
			if doing == "in-progress" && waits[item.ID] {
				detail["status"] = "on-hold"
			}
			activities = append(activities, node{"detail": detail})
		}
		if len(activities) > 0 {
			p["activity"] = activities
		}
		b.add(urn("CarePlan", r.ID()), p)
	}
}

// dose says in words what an item asks for; weights stand by hand and by the side that works.
func dose(i sessions.Item) string {
	parts := []string{fmt.Sprintf("%d sets a side, repetitions %s", len(i.Reps),
		sessions.JoinReps(i.Reps))}
	for _, of := range []struct {
		n    int64
		text string
	}{{i.HoldMS, "each held %s s"}, {i.TimeMS, "%s s"}, {i.DistanceMM, "%s m"},
		{i.RestRepMS, "%s s rest between repetitions"}, {i.RestSetMS, "%s s rest between sets"}} {
		if of.n != 0 {
			parts = append(parts, fmt.Sprintf(of.text, thousandth(of.n)))
		}
	}
	for _, works := range []sides.Working{sides.WorksLeft, sides.WorksRight} {
		if g := i.LoadG[works]; g != 0 {
			parts = append(parts, fmt.Sprintf("%s kg in the %s hand, where the %s side works",
				thousandth(g), sides.HandFor(works), works))
		}
	}
	if i.Weaker != "" && i.ExtraSets != 0 {
		parts = append(parts, fmt.Sprintf("%d more sets where the %s side works", i.ExtraSets,
			plain(string(i.Weaker))))
	}
	return strings.Join(parts, "; ")
}

func (b *bundle) addTrial(r *record.Record) {
	test := b.parent(r, "test")
	o := b.observation(r, "Side-bridge hold: "+text(test, "step"), test)
	when(o, r, number(test, "tzMin"))
	if ms, is := r.Int("heldMS"); is {
		maps.Copy(o, quantity(ms, "s", "seconds"))
	}
	b.finish(r, o, onSides(o, r), endedBy(r))
}

func (b *bundle) addTrunk(r *record.Record) {
	o := b.observation(r, "Trunk hold: "+text(r, "what"), r)
	when(o, r, number(r, "tzMin"))
	if ms, is := r.Int("heldMS"); is {
		maps.Copy(o, quantity(ms, "s", "seconds"))
	}
	b.finish(r, o, endedBy(r))
}

func (b *bundle) addSet(r *record.Record) {
	session := b.parent(r, "session")
	o := b.observation(r, "Set: "+text(r, "step"), session)
	when(o, r, number(session, "tzMin"))
	b.basedOn(o, session)
	var measured []any
	isOfHand := text(r, "hand") != ""
	if ms, is := r.Int("heldMS"); is && !isOfHand {
		maps.Copy(o, quantity(ms, "s", "seconds"))
	}
	for _, of := range []struct{ field, name, code, unit string }{
		{"loadG", "Load", "kg", "kilograms"}, {"distanceMM", "Distance", "m", "metres"},
		{"timeMS", "Time", "s", "seconds"}, {"holdMS", "Asked of each repetition", "s", "seconds"},
	} {
		if n, is := r.Int(of.field); is {
			measured = append(measured, part(of.name, quantity(n, of.code, of.unit)))
		}
	}
	for _, of := range []struct{ field, name string }{{"number", "Set number"},
		{"reps", "Repetitions"}} {
		if n, is := r.Int(of.field); is && n >= math.MinInt32 && n <= math.MaxInt32 {
			measured = append(measured, part(of.name, node{"valueInteger": n}))
		}
	}
	b.finish(r, o, onSides(o, r), measured, endedBy(r))
}

// addSession adds what was said of a session on scales from 0 to 10.
func (b *bundle) addSession(r *record.Record) {
	pain := node{"text": "Pain, 0 to 10", "coding": []any{node{"system": loinc, "code": "72514-3",
		"display": "Pain severity - 0-10 verbal numeric rating [Score] - Reported"}}}
	for _, of := range []struct {
		field string
		code  node
		note  string
	}{
		{sessions.FieldPainBefore, pain, "Before the session."},
		{sessions.FieldPainMorning, pain, "At worst on the morning after the session before."},
		{"pain", pain, "At worst during the session. Where: " + text(r, "painPlace")},
		{"effort", node{"text": "Effort of the session, category-ratio scale 0 to 10"}, ""},
	} {
		n, is := r.Int(of.field)
		if !is || n < 0 || n > 10 {
			continue
		}
		o := b.observation(r, "", r)
		o["code"], o["valueInteger"] = of.code, n
		when(o, r, number(r, "tzMin"))
		b.basedOn(o, r)
		note(o, strings.TrimSuffix(of.note, " Where: "))
		b.add(urn("Observation/"+of.field, r.ID()), o)
	}
}

// observation begins the Observation of a record that stands or falls with another.
func (b *bundle) observation(r *record.Record, what string, with *record.Record) node {
	o := node{"resourceType": "Observation", "status": "unknown", "code": words(what),
		"subject": b.patient}
	switch {
	case r.IsVoided() || with != nil && with.IsVoided():
		o["status"] = "entered-in-error"
		note(o, "Taken back: "+text(r, "voided")+" "+text(with, "voided"))
	case text(r, "stop") == sessions.StopTesterError:
		o["status"] = "cancelled"
	case b.counted[r.ID()]:
		o["status"] = "final"
	default:
		note(o, notCounted)
	}
	return o
}

// finish adds an Observation with its parts.
func (b *bundle) finish(r *record.Record, o node, parts ...[]any) {
	var all []any
	for _, p := range parts {
		all = append(all, p...)
	}
	if len(all) > 0 {
		o["component"] = all
	}
	b.add(urn("Observation", r.ID()), o)
}

// parent is the record that a field of r names, nil if it is not there.
func (b *bundle) parent(r *record.Record, field string) *record.Record {
	id, err := record.ParseID(text(r, field))
	if err != nil {
		return nil
	}
	found, _ := b.doc.Record(id)
	return found
}

// basedOn leads from what was done to its plan.
func (b *bundle) basedOn(o node, session *record.Record) {
	if plan := b.parent(session, "plan"); plan != nil && plan.Kind() == sessions.KindPlan {
		o["basedOn"] = []any{node{"reference": urn("CarePlan", plan.ID())}}
	}
}

// onSides returns both sides of a hold or set, and says in o which side of the trunk was looked at.
func onSides(o node, r *record.Record) (parts []any) {
	for _, of := range []struct{ field, name string }{{"down", "Side facing down"},
		{"hand", "Hand with the weight"}, {"working", "Side that works"}} {
		if side := text(r, of.field); side != "" {
			parts = append(parts, part(of.name, node{"valueString": side}))
		}
	}
	if works := text(r, "working"); works != "" {
		o["bodySite"] = words("Trunk, the side that works: " + works)
	}
	return parts
}

func endedBy(r *record.Record) []any {
	if stop := text(r, "stop"); stop != "" {
		return []any{part("Ended by", node{"valueString": stop})}
	}
	return nil
}

func when(o node, r *record.Record, zoneMin int64) {
	if at := moment(number(r, "startedMS"), zoneMin); at != "" {
		o["effectiveDateTime"] = at
	}
}

func note(o node, said string) {
	if said = strings.TrimSpace(said); said != "" {
		before, _ := o["note"].([]any)
		o["note"] = append(before, node{"text": said})
	}
}

func part(name string, value node) node {
	p := node{"code": words(name)}
	maps.Copy(p, value)
	return p
}

// quantity is a value of thousandths of a unit of UCUM.
func quantity(thousandths int64, code, unit string) node {
	return node{"valueQuantity": node{"value": float64(thousandths) / 1000, "unit": unit,
		"system": ucum, "code": code}}
}

func thousandth(n int64) string { return strconv.FormatFloat(float64(n)/1000, 'f', -1, 64) }

// words are what something is called; FHIR takes no empty ones.
func words(said string) node { return node{"text": cmp.Or(plain(said), "not said")} }

// text is a record's text as FHIR takes it; "" of no record.
func text(r *record.Record, field string) string {
	if r == nil {
		return ""
	}
	said, _ := r.Text(field)
	return plain(said)
}

func number(r *record.Record, field string) int64 {
	if r == nil {
		return 0
	}
	n, _ := r.Int(field)
	return n
}

// plain leaves out what a FHIR string must not hold.
func plain(said string) string {
	return strings.TrimSpace(strings.Map(func(c rune) rune {
		if unicode.IsControl(c) && c != '\n' && c != '\t' {
			return -1
		}
		return c
	}, said))
}

// moment writes milliseconds since 1970 UTC in a zone that many minutes east of it; "" for what
// was not said or FHIR cannot say. A zone that is none is UTC.
func moment(ms, zoneMin int64) string {
	const most = 253_370_764_800_000 // 9999-01-01
	if ms <= 0 || ms >= most {
		return ""
	}
	if zoneMin < -13*60 || zoneMin > 14*60 {
		zoneMin = 0
	}
	zone := time.FixedZone("", int(zoneMin)*60)
	return time.UnixMilli(ms).In(zone).Format("2006-01-02T15:04:05.000Z07:00")
}

// space is what the names of our things are unique in; drawn once.
var space = [16]byte{0xe0, 0xf4, 0x59, 0x99, 0xf6, 0x4b, 0x46, 0xf0, 0xac, 0x57, 0x8e, 0x88, 0x8b,
	0xeb, 0xf6, 0x74}

// urn is the name of what is made of a record: the same each time.
func urn(what string, id record.ID) string {
	return "urn:uuid:" + uuid(space, what+"/"+id.String())
}

// uuid is a UUID of version 5 (RFC 9562, May 2024, section 5.5).
func uuid(in [16]byte, name string) string {
	u := sha1.Sum(append(in[:], name...))
	u[6] = u[6]&0x0f | 0x50
	u[8] = u[8]&0x3f | 0x80
	return fmt.Sprintf("%x-%x-%x-%x-%x", u[:4], u[4:6], u[6:8], u[8:10], u[10:16])
}
