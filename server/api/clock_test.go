package api

import (
	"testing"
	"time"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// syncAt is sync on a phone whose clock is wrong by so much.
func (p *phone) syncAt(wrong time.Duration) {
	p.h.t.Helper()
	for range 50 {
		readMS := p.h.read().Add(wrong).UnixMilli()
		resp, a := p.send(p.Request(readMS, limits))
		if a.status != 200 {
			p.h.t.Fatalf("sync: %d %s", a.status, a.body)
		}
		out, err := p.Handle(resp, readMS)
		if err != nil || out.Problem != "" {
			p.h.t.Fatalf("sync: %v, problem %q", err, out.Problem)
		}
		if !out.IsMore && p.Unsent() == 0 {
			return
		}
	}
	p.h.t.Fatal("sync never ends")
}

// TestClock_WrongPhones: a phone whose clock is decades off is taken in all the same, owns no
// field by it, and does not move the server's time: who edits later by a right clock has the last
// word ("Logical Physical Clocks", OPODIS 2014, doi:10.1007/978-3-319-14472-6_2, asks for a bound).
func TestClock_WrongPhones(t *testing.T) {
	for name, wrong := range map[string]time.Duration{
		"in 2099": 73 * 365 * 24 * time.Hour, "in 1970": -56 * 365 * 24 * time.Hour,
		"ten years ahead": 87_600 * time.Hour, "ten years behind": -87_600 * time.Hour,
	} {
		h := build(t, "")
		right := h.owner(1)
		doc := right.newClient("Alex Example")
		right.sync()
		other := right.invite(sessions.Coach, record.ID{}, 2)
		other.syncAt(wrong)
		before := h.read().Add(wrong).UnixMilli()
		if _, _, err := other.Author().Create(other.Open(doc), sessions.KindSet,
			[]record.FieldValue{{Field: "reps", Value: record.Int(3)}}, other.WallMS(before)); err != nil {
			t.Fatal(name, err)
		}
		write := func(p *phone, wrong time.Duration, name string) {
			t.Helper()
			records := p.Open(doc).Records(sessions.KindClient)
			_, err := p.Author().Write(p.Open(doc), records[0].ID(), sessions.KindClient, "name",
				record.Text(name), h.read().Add(wrong).UnixMilli()) // it jumped after the server was heard
			if err != nil {
				t.Fatal(err)
			}
		}
		write(other, wrong, "by the wrong clock")
		other.syncAt(wrong)
		h.wait(time.Minute)
		right.sync()
		write(right, 0, "by the right clock")
		right.sync()
		other.syncAt(wrong)
		for who, p := range map[string]*phone{"right": right, "wrong": other} {
			d, _ := p.Doc(doc)
			got, _ := d.Records(sessions.KindClient)[0].Text("name")
			if got != "by the right clock" || len(d.Conflicts()) != 0 {
				t.Errorf("%s: the %s phone shows %v, conflicts %v", name, who, got, d.Conflicts())
			}
			if sets := d.Records(sessions.KindSet); len(sets) != 1 {
				t.Errorf("%s: the %s phone has %d sets, want the one", name, who, len(sets))
			}
		}
		if other.Unsent() != 0 {
			t.Errorf("%s: %d are unsent", name, other.Unsent())
		}
	}
}

// TestClock_ServerJumps: a server whose clock is wrong for a while, ahead or behind by more than
// it allows its phones, signs nobody out and loses nothing, then or afterwards. A small machine
// without a battery begins its day in the past until a network tells it the time.
func TestClock_ServerJumps(t *testing.T) {
	for _, jump := range []time.Duration{time.Hour, -time.Hour, 8 * time.Hour, -8 * time.Hour} {
		h := build(t, "")
		p := h.owner(1)
		doc := p.newClient("Alex Example")
		p.sync()
		other := p.invite(sessions.Coach, record.ID{}, 2)
		other.sync()
		rename := func(p *phone, wrong time.Duration, name string) {
			t.Helper()
			client := p.Open(doc).Records(sessions.KindClient)[0]
			readMS := h.read().Add(wrong).UnixMilli()
			_, err := p.Author().Write(p.Open(doc), client.ID(), sessions.KindClient, "name",
				record.Text(name), p.WallMS(readMS))
			if err != nil {
				t.Fatal(err)
			}
		}
		p.create(doc, sessions.KindSet, "reps", record.Int(1))
		p.sync()
		h.wait(30 * time.Minute)
		rename(p, 0, "before it was heard")
		h.wait(jump)
		for _, one := range []*phone{p, other} {
			one.renew()
			one.syncAt(-jump) // the phone's own clock did not jump
		}
		rename(other, -jump, "by the other") // builds on what the first wrote
		other.syncAt(-jump)
		p.syncAt(-jump)
		rename(p, -jump, "by the first again")
		p.syncAt(-jump)
		h.wait(-jump + time.Minute)
		for _, one := range []*phone{p, other} {
			one.renew()
			one.sync()
		}
		rename(other, 0, "last")
		other.sync()
		p.sync()
		for _, one := range []*phone{p, other} {
			d, _ := one.Doc(doc)
			name, _ := d.Records(sessions.KindClient)[0].Text("name")
			if sets := d.Records(sessions.KindSet); len(sets) != 1 || name != "last" ||
				len(d.Conflicts()) != 0 || one.Unsent() != 0 {
				t.Errorf("a jump of %v: %d sets, name %q, conflicts %v, %d unsent", jump, len(sets),
					name, d.Conflicts(), one.Unsent())
			}
		}
	}
}
