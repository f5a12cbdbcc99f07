package sessions_test

import (
	"reflect"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// TestSessionsRoundTrip stores sessions and sets and reads them back: each set
// under its session, both sides said, voided ones left out of the view but not
// out of the document.
func TestSessionsRoundTrip(t *testing.T) {
	p := newPen(t, 7)
	d := p.doc()
	open := sessions.Session{StartedMS: 5, TZMin: -330, Plan: "p-1", Effort: -1, Pain: -1,
		PainBefore: -1, PainMorning: -1}
	open.ID = p.create(d, "session", open.Values())
	p.wallMS++
	rated := sessions.Session{StartedMS: 9, TZMin: 60, Plan: "p-1", FinishedMS: 99,
		Effort: 4, Pain: 0, PainPlace: "left hip", PainBefore: 3, PainMorning: 0}
	rated.ID = p.create(d, "session", rated.Values())
	p.write(d, rated.ID, "session", "effort", record.Int(4))
	p.write(d, rated.ID, "session", "pain", record.Int(0))
	p.write(d, rated.ID, "session", "painBefore", record.Int(3))
	p.write(d, rated.ID, "session", "painMorning", record.Int(0))
	p.write(d, rated.ID, "session", "painPlace", record.Text("left hip"))
	p.write(d, rated.ID, "session", "finishedMS", record.Int(99))

	rated.Sets = []sessions.Set{
		{Session: rated.ID.String(), Item: "i-1", Asked: "1.0.x", Step: "straight_leg_hold",
			Down: sides.DownRight, Working: right, Number: 1, Reps: 2, HoldMS: 10_000,
			HeldMS: 20_000, StartedMS: 10, Clock: "mono"},
		{Session: rated.ID.String(), Item: "i-2", Asked: "2.0.x", Step: "suitcase_carry",
			Hand: sides.HandRight, Working: left, Number: 2, Reps: 0, LoadG: 16_000,
			DistanceMM: 20_000, TimeMS: 30_000, StartedMS: 11, Clock: "wall", Stop: "pain"},
	}
	for i := range rated.Sets {
		rated.Sets[i].ID = p.create(d, "set", rated.Sets[i].Values())
	}
	p.create(d, "set", sessions.Set{Session: "another", StartedMS: 1}.Values())

	want := []sessions.Session{open, rated}
	if got := sessions.Sessions(d); !reflect.DeepEqual(got, want) {
		t.Fatalf("sessions %+v\nwant     %+v", got, want)
	}
	stopped, _ := d.Record(rated.Sets[1].ID)
	if reps, said := stopped.Int("reps"); reps != 0 || !said {
		t.Error("no repetitions done is a fact, and it was not stored")
	}
	operations := d.Len()
	p.void(d, rated.Sets[0].ID, "set")
	want[1].Sets = rated.Sets[1:]
	if got := sessions.Sessions(d); !reflect.DeepEqual(got, want) {
		t.Errorf("with a set voided: %+v", got)
	}
	p.write(d, rated.Sets[0].ID, "set", record.VoidedField, record.Text(""))
	if got := sessions.Sessions(d); len(got[1].Sets) != 2 {
		t.Errorf("brought back: %+v", got[1].Sets)
	}
	p.void(d, open.ID, "session")
	if got := sessions.Sessions(d); len(got) != 1 || got[0].ID != rated.ID {
		t.Errorf("with a session voided: %+v", got)
	}
	if d.Len() != operations+3 {
		t.Errorf("%d operations, want %d: voiding removes nothing", d.Len(), operations+3)
	}
}

// TestTestsRoundTrip stores a test with its trials and reads it back. A side
// bridge on the right elbow works the right side (common practice, no source).
func TestTestsRoundTrip(t *testing.T) {
	p := newPen(t, 7)
	d := p.doc()
	p.create(d, "test", sessions.Test{Step: "wall_lean", First: left}.Values())
	test := sessions.Test{Step: "straight_leg_hold", StartedMS: 5, TZMin: 60, First: right,
		Drawn: true, TimeTold: true, Encouraged: true, RestMS: 120_000, RestNote: "hall closes"}
	test.ID = p.create(d, "test", test.Values())
	p.write(d, test.ID, "test", "restMS", record.Int(120_000))
	p.write(d, test.ID, "test", "restNote", record.Text("hall closes"))
	test.Trials = []sessions.Trial{
		{Order: 1, Down: sides.DownRight, Working: right, HeldMS: 4_000, Clock: "mono",
			Stop: "tester_error", StartedMS: 6},
		{Order: 2, Down: sides.DownRight, Working: right, HeldMS: 94_000, Clock: "mono",
			Stop: "gave_up", StartedMS: 7},
		{Order: 3, Down: sides.DownLeft, Working: left, HeldMS: 0, Clock: "wall",
			Stop: "pain", StartedMS: 8},
	}
	for i := range test.Trials {
		test.Trials[i].Test = test.ID.String()
		test.Trials[i].ID = p.create(d, "trial", test.Trials[i].Values())
	}
	got := sessions.Tests(d)
	if want := []sessions.Test{test}; !reflect.DeepEqual(got, want) {
		t.Fatalf("tests %+v\nwant  %+v", got, want)
	}
	if last, found := got[0].Last(right); !found || last.HeldMS != 94_000 {
		t.Errorf("right side: %+v, %t", last, found)
	}
	p.void(d, test.Trials[1].ID, "trial")
	if _, found := sessions.Tests(d)[0].Last(right); found {
		t.Error("a voided trial still tells")
	}
	p.void(d, test.Trials[0].ID, "trial")
	p.void(d, test.Trials[2].ID, "trial")
	if got := sessions.Tests(d); len(got) != 0 {
		t.Errorf("a test without trials is shown: %+v", got)
	}
}

func TestClientRoundTrip(t *testing.T) {
	p := newPen(t, 7)
	d := p.doc()
	if _, found := sessions.ClientIn(d); found {
		t.Error("an empty document has a client")
	}
	client := sessions.Client{Name: "Example Person", Sex: "female", BirthYear: 1990,
		StatureMM: 1700, MassG: 65_000, Complaint: "stiff in the morning", Dominant: "left"}
	client.ID = p.create(d, "client", client.Values())
	if got, found := sessions.ClientIn(d); !found || got != client {
		t.Errorf("client %+v, want %+v", got, client)
	}
}

// TestAuthorOf believes a device about itself only.
func TestAuthorOf(t *testing.T) {
	coach, client := newPen(t, 7), newPen(t, 9)
	d := coach.doc()
	author := sessions.Author{Name: "Example Coach", Role: sessions.Coach}
	coach.create(d, "author", author.Values())
	if got, found := sessions.AuthorOf(d, 7); !found || got != author {
		t.Errorf("AuthorOf(7) = %+v, %t", got, found)
	}
	if got, found := sessions.AuthorOf(d, 9); found {
		t.Errorf("AuthorOf(9) = %+v", got)
	}
	client.create(d, "author", sessions.Author{Name: "Example Client"}.Values())
	if got, _ := sessions.AuthorOf(d, 9); got.Name != "Example Client" || got.Role != "" {
		t.Errorf("AuthorOf(9) = %+v", got)
	}
}

func TestPracticeName(t *testing.T) {
	p := newPen(t, 7)
	d := p.doc()
	if got := sessions.PracticeName(d); got != "" {
		t.Errorf("an empty document is called %q", got)
	}
	p.create(d, "practice", []record.FieldValue{{Field: "name", Value: record.Text("Example")}})
	if got := sessions.PracticeName(d); got != "Example" {
		t.Errorf("PracticeName = %q", got)
	}
}
