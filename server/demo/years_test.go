package demo

import (
	"path/filepath"
	"testing"
	"time"

	"evenhold/server/access"
	"evenhold/server/store"
)

func TestYears(t *testing.T) {
	folder := t.TempDir()
	s, err := store.Open(filepath.Join(folder, "practice.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	key, err := access.OpenKey(filepath.Join(folder, "key"))
	if err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	if err := (Years{Clients: 20, Weeks: 10}).Fill(fillNow.UnixMilli(), s, key); err != nil {
		t.Fatal(err)
	}
	f, err := s.Facts(t.Context())
	t.Log(time.Since(began), f, err)
}
