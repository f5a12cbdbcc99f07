package api

import (
	"slices"
	"testing"
	"time"

	"evenhold/internal/sessions"
	"evenhold/server/store"
	"evenhold/sync/record"
)

// reads returns the lines of the trail that say who was given the record doc.
func (h *house) reads(doc record.ID) (persons []string) {
	h.t.Helper()
	err := h.store.Trail(h.t.Context(), func(_ int64, e store.Event) error {
		if e.Act == "read" && e.Subject == doc.String() {
			persons = append(persons, e.Person)
		}
		return nil
	})
	if err != nil {
		h.t.Fatal(err)
	}
	return persons
}

// TestReading: who of the staff was given a record is in the trail once a day, however often their
// phones fetch, and a client's own reading is not.
func TestReading(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	alex, kim := owner.newClient("Alex Example"), owner.newClient("Kim Example")
	owner.sync()
	coach := owner.invite(sessions.Coach, record.ID{}, 2)
	client := owner.invite(sessions.ClientOf, alex, 3)
	who := coach.id.Person.ID
	later := func(d time.Duration) {
		h.wait(d)
		for _, p := range []*phone{owner, coach, client} {
			p.renew()
		}
	}
	fetch := func() {
		for range 20 {
			owner.create(alex, sessions.KindSession, "painPlace", record.Text("shin"))
			for _, p := range []*phone{owner, coach, client} {
				p.sync()
			}
		}
	}
	fetch()
	if got := h.reads(alex); !slices.Equal(got, []string{who}) {
		t.Errorf("a day of many pulls: %q, want the coach once", got)
	}
	if got := h.reads(kim); !slices.Equal(got, []string{who}) {
		t.Errorf("a record of one pull: %q, want the coach once", got)
	}
	// A line of a day to come, from a clock that was wrong, hides nothing.
	wrong := store.Event{AtMS: h.read().AddDate(70, 0, 0).UnixMilli(), Person: who, Act: "read",
		Subject: alex.String(), Result: "ok"}
	if err := h.store.Audit(wrong); err != nil {
		t.Fatal(err)
	}
	later(12 * time.Hour) // the house's day began at noon
	fetch()
	client.create(alex, sessions.KindSession, "painPlace", record.Text("knee"))
	client.sync()
	owner.sync()
	want := []string{who, who, who, owner.id.Person.ID}
	if got := h.reads(alex); !slices.Equal(got, want) || len(h.reads(kim)) != 1 {
		t.Errorf("the day after: %q, want %q", got, want)
	}
}

// TestReading_IsNoEntry: a reading stands in the file of the person who was read, does not keep a
// record from being listed as quiet, and stays in a trail that is whole when the record is erased.
func TestReading_IsNoEntry(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	alex := owner.newClient("Alex Example")
	owner.sync()
	h.wait(10 * time.Minute)
	coach := owner.invite(sessions.Coach, record.ID{}, 2)
	coach.sync()
	want := []string{coach.id.Person.ID}
	quiet, err := h.store.Quiet(t.Context(), h.read().Add(-time.Minute).UnixMilli())
	if err != nil || !slices.Contains(quiet, alex) || !slices.Equal(h.reads(alex), want) {
		t.Errorf("quiet are %v, %v; read by %q", quiet, err, h.reads(alex))
	}
	about, err := h.store.About(t.Context(), alex, "")
	if err != nil || !slices.ContainsFunc(about.Audit, func(r store.Row) bool {
		return r["act"] == "read" && r["person"] == want[0]
	}) {
		t.Errorf("the person's file does not say who read: %v, %v", about.Audit, err)
	}
	if _, err := h.store.Erase(alex, h.read().UnixMilli()); err != nil {
		t.Fatal(err)
	}
	coach.sync()
	faults, err := h.store.Check(t.Context())
	if got := h.reads(alex); err != nil || len(faults) != 0 || !slices.Equal(got, want) {
		t.Errorf("after the erasure: %q, %q, %v", got, faults, err)
	}
}
