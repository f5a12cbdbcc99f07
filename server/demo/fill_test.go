package demo

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// fillNow is an ordinary evening; the days of the story are counted back from it.
var fillNow = time.Date(2026, 5, 13, 20, 30, 0, 0, time.UTC)

// TestFill goes through the example once: filling a store is slow, and the checks only read.
func TestFill(t *testing.T) {
	f := fill(t)
	t.Run("weight", f.weighs)
	t.Run("nothing refused", f.holdsEverything)
	t.Run("as told", f.isAsTold)
	t.Run("codes", f.letsIn)
	t.Run("twice", f.fillsOnce)
}

// filled is an example practice, read back from its store.
type filled struct {
	store         *store.Store
	desk          *access.Desk
	coach, client access.Code
	took          time.Duration
	docs          map[record.ID]*record.Doc // the practice's included
}

func fill(t *testing.T) filled {
	t.Helper()
	folder := t.TempDir()
	s, err := store.Open(filepath.Join(folder, "practice.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	key, err := access.OpenKey(filepath.Join(folder, "key"))
	if err != nil {
		t.Fatal(err)
	}
	f := filled{store: s, docs: map[record.ID]*record.Doc{}}
	f.desk = access.NewDesk(s, key, func() time.Time { return fillNow })
	began := time.Now()
	if f.coach, f.client, err = Fill(fillNow, s, f.desk); err != nil {
		t.Fatal(err)
	}
	f.took = time.Since(began)
	ids, err := s.Documents(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range ids {
		if f.docs[id], err = s.Document(t.Context(), id); err != nil {
			t.Fatalf("document %s: %v", id, err)
		}
	}
	return f
}

// weighs shows what the example weighs: operations, and the bytes a phone keeps of them.
func (f filled) weighs(t *testing.T) {
	t.Logf("filled in %v", f.took.Round(time.Millisecond))
	clients, operations, bytes := 0, 0, 0
	for _, d := range f.docs {
		c, isClient := sessions.ClientIn(d)
		if !isClient {
			continue
		}
		size := len(wire.AppendSnapshot(nil, d))
		t.Logf("%-11s %5d operations %6d bytes %3d sessions", c.Name, d.Len(), size,
			len(sessions.Sessions(d)))
		clients, operations, bytes = clients+1, operations+d.Len(), bytes+size
	}
	t.Logf("%-11s %5d operations %6d bytes", "all", operations, bytes)
	if clients != 8 || len(f.docs) != 9 {
		t.Errorf("%d clients in %d documents", clients, len(f.docs))
	}
}

// holdsEverything: each phone numbers its operations without gaps, so one that had been refused
// or lost would leave a hole.
func (f filled) holdsEverything(t *testing.T) {
	seqs := map[clock.Device][]uint64{}
	for _, d := range f.docs {
		for _, op := range d.Operations() {
			seqs[op.Stamp.Device] = append(seqs[op.Stamp.Device], op.Seq)
		}
	}
	// The server, the coach and the phones of six clients, one of which recorded nothing.
	if len(seqs) != 7 {
		t.Errorf("%d devices wrote", len(seqs))
	}
	for device, own := range seqs {
		slices.Sort(own)
		for i, seq := range own {
			if seq != uint64(i)+1 {
				t.Fatalf("device %s: number %d is %d", device, i+1, seq)
			}
		}
	}
}

// isAsTold: the store holds what the story told, operation for operation, whatever the random
// secrets of this run were.
func (f filled) isAsTold(t *testing.T) {
	again, err := tell(fillNow.UnixMilli())
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range again.clients {
		stored, found := f.docs[c.doc.ID()]
		if !found || stored.Digest() != c.doc.Digest() {
			t.Errorf("%s: another record", c.about.Name)
		}
	}
}

func (f filled) letsIn(t *testing.T) {
	_, coachHash := access.NewSecret()
	_, clientHash := access.NewSecret()
	coach, err := f.desk.Join("", f.coach.String(), store.Joining{Device: 7, SecretHash: coachHash})
	if err != nil || coach.Person.Role != sessions.Owner || coach.Person.Name != "Maren D." {
		t.Errorf("coach: %+v, %v", coach, err)
	}
	client, err := f.desk.Join("", f.client.String(),
		store.Joining{Device: 8, SecretHash: clientHash})
	if err != nil || client.Person.Role != sessions.ClientOf || client.Person.Name != "Ama K." {
		t.Errorf("client: %+v, %v", client, err)
	}
	doc, found := f.docs[client.Person.Doc]
	if !found {
		t.Fatalf("the client sees %s, which is not there", client.Person.Doc)
	}
	if c, _ := sessions.ClientIn(doc); c.Name != "Ama K." {
		t.Errorf("the client sees the record of %q", c.Name)
	}
	staff, err := f.store.Staff(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	names := []string{}
	for _, p := range staff {
		names = append(names, fmt.Sprint(p.Name, " ", p.Role, " ", len(p.Phones)))
	}
	slices.Sort(names)
	want := []string{"Bo R. assistant 1", "Cora V. coach 1", "Maren D. owner 2"}
	if !slices.Equal(names, want) {
		t.Errorf("the staff: %q, want %q", names, want)
	}
	if p, err := f.store.Practice(t.Context()); err != nil || p.Name != "Plumb Yard" {
		t.Errorf("practice: %+v, %v", p, err)
	}
}

func (f filled) fillsOnce(t *testing.T) {
	if _, _, err := Fill(fillNow, f.store, f.desk); !errors.Is(err, errClaimed) {
		t.Errorf("a practice with an owner was filled: %v", err)
	}
}
