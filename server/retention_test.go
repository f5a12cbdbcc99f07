package main

import (
	"crypto/sha256"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenhold/internal/sessions"
	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// anybody takes every entry.
type anybody struct{}

func (anybody) May(record.Operation) string { return "" }

// years is a practice whose owner writes on days of this test's choice.
type years struct {
	t    *testing.T
	data string
	pen  *record.Author
	docs map[record.ID]*record.Doc
}

// kept is the owner's phone.
const kept clock.Device = 0x1111

func newYears(t *testing.T, day time.Time) *years {
	y := &years{t: t, data: t.TempDir(), docs: map[record.ID]*record.Doc{},
		pen: record.NewAuthor(kept, 0, [32]byte{}, clock.New(kept, clock.Stamp{}))}
	y.with(func(s *store.Store) error {
		inv := store.Invitation{Handle: "H", SecretMAC: []byte("mac"), Role: sessions.Owner,
			Name: "Robin Example", ExpiresMS: day.UnixMilli() + 60_000}
		if err := s.AddInvitation(inv, day.UnixMilli()); err != nil {
			return err
		}
		_, err := s.Join("H", inv.SecretMAC, store.Joining{Device: kept,
			SecretHash: sha256.Sum256([]byte("secret")), Practice: "Example Practice"}, day.UnixMilli())
		return err
	})
	return y
}

func (y *years) with(f func(*store.Store) error) {
	y.t.Helper()
	s, err := store.Open(filepath.Join(y.data, storeName))
	if err != nil {
		y.t.Fatal(err)
	}
	err = f(s)
	if closed := s.Close(); err != nil || closed != nil {
		y.t.Fatal(err, closed)
	}
}

// write has the server take in an entry of a record, or the first of a new one, on a day.
func (y *years) write(doc record.ID, name string, day time.Time) record.ID {
	y.t.Helper()
	kind, field := sessions.KindSession, "painPlace"
	if doc.IsZero() {
		doc, kind, field = y.pen.NextID(), sessions.KindClient, "name"
		y.docs[doc] = record.NewDoc(doc)
	}
	q := wire.Request{Schema: wire.Schema, Device: kept, PushFrom: y.pen.Seq(), Chain: y.pen.Chain()}
	y.with(func(s *store.Store) (err error) {
		fields := []record.FieldValue{{Field: field, Value: record.Text(name)}}
		if _, q.Push, err = y.pen.Create(y.docs[doc], kind, fields, day.UnixMilli()); err != nil {
			return err
		}
		m, err := s.MemberByDevice(y.t.Context(), kept)
		if err != nil {
			return err
		}
		rules := func(*store.Sheet) exchange.Rules { return anybody{} }
		_, err = s.Push(q, m, rules, day.UnixMilli())
		return err
	})
	return doc
}

// told is what a command prints on a day.
func (y *years) told(day time.Time, args ...string) string {
	y.t.Helper()
	about, _ := find(args[0])
	var out, errOut output
	values, _, rest, err := parse(about, append(args[1:], "--data", y.data), noEnv, &errOut)
	if err != nil {
		y.t.Fatal(err)
	}
	err = about.run(&call{Context: y.t.Context(), said: values, args: rest, out: &out,
		errOut: &errOut, env: noEnv, now: day})
	if err != nil {
		y.t.Fatalf("%v: %v\n%s", args, err, errOut.String())
	}
	return out.String()
}

// bytes are the files of the data folder by path.
func (y *years) bytes() map[string]string {
	y.t.Helper()
	all := map[string]string{}
	err := filepath.WalkDir(y.data, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		content, err := os.ReadFile(path)
		all[path] = string(content)
		return err
	})
	if err != nil || len(all) == 0 {
		y.t.Fatal(all, err)
	}
	return all
}

// TestRetention: three years, on a clock that is handed in. A record that was quiet for a day less
// is not listed; a day later it is; an entry makes it young again. Listing touches no byte of the
// folder. With --yes those listed are erased as "erase" does it, each with its line in the trail.
func TestRetention(t *testing.T) {
	first := time.Date(2026, 11, 26, 12, 0, 0, 0, time.UTC)
	const months, marker = "36", "MARKER-OF-A-PERSON"
	y := newYears(t, first)
	kim := y.write(record.ID{}, marker, first)
	alex := y.write(record.ID{}, "Alex Example", first)
	y.told(first, "backup")
	listed := func(day time.Time) string { return y.told(day, "retention", "--months", months) }
	isIn := func(text string, doc record.ID) bool { return strings.Contains(text, doc.String()) }

	due := first.AddDate(3, 0, 1)
	if text := listed(due.AddDate(0, 0, -2)); !strings.Contains(text, "Every record") {
		t.Errorf("a day too early:\n%s", text)
	}
	before := y.bytes()
	if text := listed(due); !isIn(text, kim) || !isIn(text, alex) ||
		!strings.Contains(text, "Nothing was erased") {
		t.Errorf("on the day:\n%s", text)
	}
	if !maps.Equal(before, y.bytes()) {
		t.Error("listing has changed the folder")
	}
	y.write(alex, "hip", due)
	if text := listed(due); !isIn(text, kim) || isIn(text, alex) {
		t.Errorf("with a new entry in one:\n%s", text)
	}
	if text := listed(due.AddDate(3, 0, -1)); isIn(text, alex) {
		t.Errorf("a day before three more years have passed:\n%s", text)
	}
	if text := y.told(due, "retention", "--months", months, "--yes"); !isIn(text, kim) ||
		isIn(text, alex) || !strings.Contains(text, "Erased.") {
		t.Errorf("erasing:\n%s", text)
	}
	none(t, y.data, marker)
	trail := y.told(due, "audit", kim.String())
	if !strings.Contains(trail, "erase") ||
		!strings.Contains(trail, due.Format(time.DateTime)) {
		t.Errorf("the trail of the erased record:\n%s", trail)
	}
	if text := y.told(due, "people"); !strings.Contains(text, "Alex Example") {
		t.Errorf("another record went with it:\n%s", text)
	}
	y.told(due, "check")
	if text := listed(due.AddDate(3, 0, 1)); isIn(text, kim) || !isIn(text, alex) {
		t.Errorf("three years on:\n%s", text)
	}
}
