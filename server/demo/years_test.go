package demo

import (
	"path/filepath"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/server/store"
	"evenhold/sync/record"
)

// TestYears: a busy practice in little has the sessions, tests and plans that were asked for, and
// is the same each time.
func TestYears(t *testing.T) {
	y := Years{Clients: 2, Weeks: 9}
	first, second := years(t, y), years(t, y)
	if len(first) != 1+y.Clients { // the practice's own document beside them
		t.Fatalf("%d documents, want %d", len(first), 1+y.Clients)
	}
	clients := 0
	for id, d := range first {
		client, found := sessions.ClientIn(d)
		if !found {
			continue // the practice's own, which the server names by chance
		}
		clients++
		if again := second[id]; again == nil || again.Digest() != d.Digest() {
			t.Errorf("%s differs the second time", client.Name)
		}
		done := sessions.Sessions(d)
		if len(done) != 3*y.Weeks {
			t.Errorf("%s trained %d times, want %d", client.Name, len(done), 3*y.Weeks)
		}
		for _, s := range done {
			if len(s.Sets) == 0 || s.FinishedMS == 0 {
				t.Errorf("%s has a session of %d sets, finished at %d", client.Name, len(s.Sets), s.FinishedMS)
			}
		}
		if tests := sessions.Tests(d); len(tests) != 2 { // every eighth week
			t.Errorf("%s has %d tests, want 2", client.Name, len(tests))
		}
		if _, found := sessions.CurrentPlan(d); !found {
			t.Errorf("%s has no plan", client.Name)
		}
	}
	if clients != y.Clients {
		t.Errorf("%d clients, want %d", clients, y.Clients)
	}
}

// years fills a practice and reads it back.
func years(t *testing.T, y Years) map[record.ID]*record.Doc {
	t.Helper()
	folder := t.TempDir()
	s, err := store.Open(filepath.Join(folder, "practice.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	key, err := access.OpenKey(filepath.Join(folder, "key"))
	if err != nil {
		t.Fatal(err)
	}
	if err := y.Fill(fillNow.UnixMilli(), s, key); err != nil {
		t.Fatal(err)
	}
	docs := map[record.ID]*record.Doc{}
	ids, err := s.Documents(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range ids {
		if docs[id], err = s.Document(t.Context(), id); err != nil {
			t.Fatal(err)
		}
	}
	return docs
}
