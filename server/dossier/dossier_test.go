package dossier_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "github.com/mattn/go-sqlite3" // looks into the file past the store
	"pgregory.net/rapid"

	"evenhold/internal/sessions"
	"evenhold/server/dossier"
	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// noon is a reading in the middle of a day, 2026-03-02 12:00 UTC.
const noon = int64(1_772_452_800_000)

// world is a practice with one client and others around them.
type world struct {
	t     *rapid.T
	store *store.Store
	path  string
	doc   record.ID // of the client
	pens  []*pen
	nowMS int64
	n     int // of the last text
}

// pen writes for one phone, which has seen only what it wrote itself.
type pen struct {
	store.Member
	*record.Author
	doc *record.Doc
	ids []record.ID
}

type judge struct{}

func (judge) May(op record.Operation) string {
	if text, _ := op.Value.Text(); strings.HasPrefix(text, "refused") {
		return wire.CodeForbidden
	}
	return ""
}

func begin(t *rapid.T) *world {
	t.Helper()
	w := &world{t: t, nowMS: noon, doc: record.ID{Device: 0x1111, Seq: 1}}
	folder, err := os.MkdirTemp("", "dossier")
	w.must(err)
	w.path = filepath.Join(folder, "practice.db")
	w.store, err = store.Open(w.path)
	w.must(err)
	return w
}

func (w *world) end() {
	w.must(w.store.Close())
	w.must(os.RemoveAll(filepath.Dir(w.path)))
}

func (w *world) must(err error) {
	w.t.Helper()
	if err != nil {
		w.t.Fatal(err)
	}
}

// text is one that stands nowhere else.
func (w *world) text(of string) record.Value {
	w.n++
	return record.Text(fmt.Sprintf("%s %d", of, w.n))
}

func (w *world) invite(role sessions.Role, doc record.ID, handle string) store.Invitation {
	w.t.Helper()
	name, _ := w.text("name").Text()
	inv := store.Invitation{Handle: handle, SecretMAC: []byte("mac"), Role: role, Name: name,
		Doc: doc, ExpiresMS: w.nowMS + 60_000}
	w.must(w.store.AddInvitation(inv, w.nowMS))
	return inv
}

// join lets a phone in by an invitation.
func (w *world) join(role sessions.Role, doc record.ID, device clock.Device) {
	w.t.Helper()
	inv := w.invite(role, doc, "H"+device.String())
	m, err := w.store.Join(inv.Handle, inv.SecretMAC, store.Joining{Device: device,
		SecretHash: sha256.Sum256([]byte(device.String())), Practice: "Example Practice"}, w.nowMS)
	w.must(err)
	w.pens = append(w.pens, &pen{Member: m, doc: record.NewDoc(w.doc),
		Author: record.NewAuthor(device, 0, [32]byte{}, clock.New(device, clock.Stamp{}))})
}

// write writes one field of a new record, or of one of the phone's own, and sends it.
func (w *world) write(p *pen, doc *record.Doc, kind, field string, v record.Value, isNew bool) {
	w.t.Helper()
	q := wire.Request{Schema: wire.Schema, Device: p.Author.Device(), PushFrom: p.Seq(),
		Chain: p.Chain()}
	var err error
	if isNew || len(p.ids) == 0 {
		var id record.ID
		fields := []record.FieldValue{{Field: field, Value: v}}
		id, q.Push, err = p.Create(doc, kind, fields, w.nowMS)
		if doc == p.doc && kind == "session" {
			p.ids = append(p.ids, id)
		}
	} else {
		var op record.Operation
		id := rapid.SampledFrom(p.ids).Draw(w.t, "record")
		op, err = p.Write(doc, id, kind, field, v, w.nowMS)
		q.Push = []record.Operation{op}
	}
	w.must(err)
	rules := func(*store.Sheet) exchange.Rules { return judge{} }
	_, err = w.store.Push(q, p.Member, rules, w.nowMS)
	w.must(err)
}

// live has the practice live for a while.
func (w *world) live() {
	w.join(sessions.Owner, record.ID{}, 0x1111)
	w.join(sessions.Coach, record.ID{}, 0x2222)
	w.write(w.pens[0], w.pens[0].doc, sessions.KindClient, "name", w.text("the client"), true)
	w.join(sessions.ClientOf, w.doc, 0x3333)
	other := record.NewDoc(record.ID{Device: 0x2222, Seq: 9_999})
	for i := range rapid.IntRange(3, 20).Draw(w.t, "acts") {
		w.nowMS += int64(rapid.IntRange(1, 1e8).Draw(w.t, "wait"))
		p := rapid.SampledFrom(w.pens).Draw(w.t, "who")
		switch rapid.IntRange(0, 9).Draw(w.t, "act") {
		case 0, 1:
			w.write(p, p.doc, "session", "painPlace", w.text("pain"), true)
		case 2:
			w.write(p, p.doc, "session", "painPlace", w.text("changed"), false)
		case 3:
			w.write(p, p.doc, "session", "effort", record.Int(int64(w.nowMS)), false)
		case 4:
			w.write(p, p.doc, "session", "voided", w.text("voided"), false)
		case 5:
			w.write(p, p.doc, "session", "painPlace", w.text("refused"), true)
		case 6:
			w.write(w.pens[1], other, "session", "painPlace", w.text("another's"), true)
		case 7:
			w.invite(sessions.ClientOf, w.doc, fmt.Sprintf("OPEN%d", i))
		case 8:
			w.share()
		case 9:
			w.must(w.store.Audit(store.Event{AtMS: w.nowMS, Act: "export", Subject: w.doc.String(),
				Person: p.Person.ID, Device: p.Author.Device().String(), Result: "ok"}))
		}
	}
	if rapid.Bool().Draw(w.t, "lost") {
		w.must(w.store.ShutOut(w.pens[0].Member, 0x3333, true, w.nowMS))
		w.must(w.store.Told(0x3333, w.nowMS+1))
	}
}

// share says anew whether the coach sees the client's record.
func (w *world) share() {
	w.t.Helper()
	want := store.Sharing{IsClosed: rapid.Bool().Draw(w.t, "closed")}
	if rapid.Bool().Draw(w.t, "named") {
		want.People = []string{w.pens[1].Person.ID}
	}
	_, err := w.store.Share(w.pens[0].Member, w.doc, want, w.nowMS)
	w.must(err)
}

// shown maps a column to what the export calls it; "" says that it need not be shown, for the
// reason beside it.
var shown = map[string]string{
	"people.id": "id", "people.name": "name", "people.role": "role", "people.doc": "doc",
	"people.created_ms": "created",
	"docs.id":           "doc", "docs.kind": "kind", "docs.head": "entries",
	"docs.num":     "", // number in the file
	"docs.changed": "", // tells of other records
	"docs.digest":  "", // finds out damage
	"closed.doc":   "closed", "grants.doc": "doc", "grants.person": "person",
	"devices.id": "device", "devices.person": "person", "devices.created_ms": "created",
	"devices.contact_ms": "contact", "devices.revoked_ms": "revoked", "devices.ended_ms": "ended",
	"devices.wipe": "wipe", "devices.told_ms": "told", "devices.have": "entries",
	"devices.last_wall_ms": "last_wall", "devices.used_ms": "used", "devices.day_count": "day_count",
	"devices.secret_hash": "", // checks a secret
	"devices.salt":        "", // secrets are made from it
	"devices.passkey_id":  "", // finds a passkey
	"devices.passkey":     "", // checks a signature
	"devices.passkey_ms":  "passkey",
	"devices.used":        "", // number of a secret
	"devices.public_key":  "", // checks a signature
	"devices.chain":       "", // finds out a copied phone
	"devices.base":        "", // finds out damage
	"devices.base_chain":  "", // finds out damage
	"devices.last_count":  "", // orders entries within a millisecond: part of each stamp
	"devices.day":         "", // says which day day_count is of
	"invitations.handle":  "handle", "invitations.role": "role", "invitations.name": "name",
	"invitations.doc": "doc", "invitations.person": "person", "invitations.made_by": "made_by",
	"invitations.created_ms": "created", "invitations.expires_ms": "expires",
	"invitations.tries": "tries", "invitations.used_ms": "used", "invitations.used_by": "used_by",
	"invitations.recovery":   "recovery",
	"invitations.secret_mac": "", // checks a code
	"invitations.tap":        "", // says how it is taken up
	"invitations.knock_ms":   "knock", "invitations.knock_name": "knock_name",
	"invitations.knock_phone": "knock_phone", "invitations.knock_address": "knock_address",
	"invitations.knock_device": "", // tells whether the same phone asks again
	"invitations.knock_key":    "", // tells whether the same phone asks again
	"invitations.answered_ms":  "answered", "invitations.answer": "answer",
	"refusals.device": "device", "refusals.seq": "number", "refusals.code": "code",
	"refusals.at_ms": "at",
	"refusals.hash":  "", // finds out damage
	"audit.n":        "n", "audit.at_ms": "at", "audit.person": "person", "audit.device": "device",
	"audit.act": "act", "audit.subject": "subject", "audit.result": "result",
	"audit.link": "", // finds out damage
}

// concern selects, past the store and by joins of its own, what is about the client.
var concern = []struct{ section, table, where string }{
	{"person", "people", "doc = $doc"},
	{"record", "docs", "id = $doc"},
	{"record", "closed", "doc = $doc"},
	{"shared", "grants", "doc = $doc"},
	{"phones", "devices", "person = (SELECT id FROM people WHERE doc = $doc)"},
	{"invitations", "invitations", "doc = $doc OR used_by = 0x3333"},
	{"refused", "refusals", "device = 0x3333"},
	{"audit", "audit", "device = $phone OR subject IN ($text, $phone, (SELECT id FROM people WHERE" +
		" doc = $doc)) OR subject IN (SELECT handle FROM invitations WHERE doc = $doc)" +
		" OR person = (SELECT id FROM people WHERE doc = $doc)"},
}

// elsewhere are the tables that concern does not look at, each with the reason.
var elsewhere = map[string]string{
	"ops":     "checkEntries reads them by another way",
	"records": "made from ops",
	"news":    "numbers of news for each of the staff: they tell of other records",
	"meta":    "the practice's own",
	"erased":  "of whom nothing else is left",
}

// TestTables: every table of the file is looked at here or has a reason, so that a new one is
// thought of.
func TestTables(t *testing.T) {
	path := filepath.Join(t.TempDir(), "practice.db")
	s, err := store.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite3", "file:"+path+"?mode=ro")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = db.Close() }() // read only
	rows, err := db.Query("SELECT name FROM sqlite_master WHERE type = 'table'")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	found := 0
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		found++
		known := elsewhere[name] != ""
		for _, c := range concern {
			known = known || c.table == name
		}
		if !known {
			t.Errorf("%s is new: show it in the export, or say why not", name)
		}
	}
	if err := rows.Err(); err != nil || found < len(elsewhere) {
		t.Errorf("%d tables, %v", found, err)
	}
}

// TestOf_HoldsEverything: whatever a practice has come to hold about a person, each value of each
// row is in the export, under its name; every column of the file is shown or has a reason.
func TestOf_HoldsEverything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := begin(t)
		defer w.end()
		w.live()
		all, err := dossier.Of(context.Background(), w.store, w.doc.String())
		w.must(err)
		again, err := dossier.Of(context.Background(), w.store, w.doc.String())
		w.must(err)
		if !bytes.Equal(all.Zip, again.Zip) {
			t.Error("the same practice gives two files")
		}
		have, text := read(t, all.Zip)
		w.checkRows(have)
		w.checkReaders(have)
		w.checkEntries(have)
		w.checkForm(all.Zip)
		for _, of := range []string{"another's", "refused "} {
			if strings.Contains(text, of) {
				t.Errorf("what is not the client's own is in it: %s", of)
			}
		}
	})
}

// checkRows holds the export against every row that is about the client.
func (w *world) checkRows(have map[string]bool) {
	w.t.Helper()
	db, err := sql.Open("sqlite3", "file:"+w.path+"?mode=ro")
	w.must(err)
	defer func() { _ = db.Close() }() // read only
	packed := append(make([]byte, 6), 0x11, 0x11, 0, 0, 0, 0, 0, 0, 0, 1)
	for _, c := range concern {
		rows, err := db.Query("SELECT * FROM "+c.table+" WHERE "+c.where, sql.Named("doc", packed),
			sql.Named("phone", clock.Device(0x3333).String()), sql.Named("text", w.doc.String()))
		w.must(err)
		names, err := rows.Columns()
		w.must(err)
		for rows.Next() {
			values, places := make([]any, len(names)), make([]any, len(names))
			for i := range values {
				places[i] = &values[i]
			}
			w.must(rows.Scan(places...))
			for i, v := range values {
				w.checkValue(have, c.section, c.table+"."+names[i], v)
			}
		}
		w.must(rows.Err())
		w.must(rows.Close())
	}
}

func (w *world) checkValue(have map[string]bool, section, column string, v any) {
	w.t.Helper()
	name, known := shown[column]
	if !known {
		w.t.Errorf("%s is new: show it in the export, or say why not", column)
	}
	if name == "" || v == nil || v == "" {
		return
	}
	want := fmt.Sprint(v)
	switch n, _ := v.(int64); {
	case column == "closed.doc":
		want = "1"
	case name == "doc":
		want = w.doc.String()
	case name == "device" && column != "audit.device" || name == "used_by":
		want = clock.Device(n).String()
	case strings.HasSuffix(column, "_ms"):
		want = store.Readable(n)
		if n == 0 {
			return
		}
	}
	if !have[section+"."+name+"="+want] {
		w.t.Errorf("%s says %s, and the export does not", column, want)
	}
}

// checkEntries holds the export against the operations as they lie in the file.
func (w *world) checkEntries(have map[string]bool) {
	w.t.Helper()
	doc, err := w.store.Document(context.Background(), w.doc)
	w.must(err)
	for _, op := range doc.Operations() {
		value, is := op.Value.Text()
		if n, isInt := op.Value.Int(); !is && isInt {
			value = fmt.Sprint(n)
		}
		want := map[string]string{"record": op.Record.String(), "kind": op.Kind, "field": op.Field,
			"value": value, "at": store.Readable(op.Stamp.WallMS), "stamp": op.Stamp.String(),
			"number": fmt.Sprint(op.Seq), "phone": op.Stamp.Device.String()}
		for _, stamp := range op.Replaces {
			want["replaces"] = stamp.String()
		}
		for name, said := range want {
			if !have["entries."+name+"="+said] {
				w.t.Errorf("entry %s: %s says %q, and the export does not", op.ID(), name, said)
			}
		}
	}
}

// read returns every value of an export as "section.name=value", and all its text.
func read(t *rapid.T, packed []byte) (have map[string]bool, text string) {
	t.Helper()
	have = map[string]bool{}
	for name, content := range unpacked(t, packed) {
		if name == "README.txt" || name == "person.schema.json" {
			continue // the same words for everybody
		}
		text += content
		if name != "person.json" {
			continue
		}
		content = strings.Replace(content, `"version": 1,`, "", 1)
		var sections map[string][]map[string]any
		d := json.NewDecoder(strings.NewReader(content))
		d.UseNumber()
		if err := d.Decode(&sections); err != nil {
			t.Fatal(err)
		}
		for section, rows := range sections {
			for _, row := range rows {
				for name, value := range row {
					list, is := value.([]any)
					if !is {
						list = []any{value}
					}
					for _, v := range list {
						have[fmt.Sprintf("%s.%s=%v", section, name, v)] = true
					}
				}
			}
		}
	}
	return have, text
}

// TestOf_Staff: a member of staff gets what is held about them, and no client's entries.
func TestOf_Staff(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := begin(t)
		defer w.end()
		w.live()
		coach := w.pens[1]
		w.write(coach, coach.doc, "author", "name", w.text("signed"), true)
		all, err := dossier.Of(context.Background(), w.store, coach.Person.ID)
		w.must(err)
		have, text := read(t, all.Zip)
		if !have["person.name="+coach.Person.Name] || !strings.Contains(text, "signed ") ||
			!have["phones.device="+coach.Author.Device().String()] {
			t.Errorf("name, phone or signature is missing:\n%s", text)
		}
		for _, of := range []string{"pain ", "the client", "changed "} {
			if strings.Contains(text, of) {
				t.Errorf("a client's entry is in it: %s", of)
			}
		}
		if _, err := dossier.Of(context.Background(), w.store, "nobody"); !errors.Is(err,
			dossier.ErrNobody) {
			t.Errorf("nobody: %v", err)
		}
	})
}
