package dossier_test

import (
	"archive/zip"
	"bytes"
	"database/sql"
	"encoding/csv"
	"encoding/json"
	"flag"
	"io"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"

	"evenhold/internal/sessions"
	"evenhold/server/dossier"
	"evenhold/sync/record"
)

// unpacked is an export's files by name.
func unpacked(t interface{ Fatal(...any) }, packed []byte) map[string]string {
	z, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		content, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		_ = r.Close() // read to its end
		files[f.Name] = string(content)
	}
	return files
}

// formFault is what the schema that lies in the export says of its person.json, by a validator of
// JSON Schema 2020-12 from elsewhere; nil if it is as promised.
func formFault(t interface{ Fatal(...any) }, schema, text string) error {
	var parts [2]any
	for i, of := range []string{schema, text} {
		var err error
		if parts[i], err = jsonschema.UnmarshalJSON(strings.NewReader(of)); err != nil {
			t.Fatal(err)
		}
	}
	compiler := jsonschema.NewCompiler()
	compiler.AssertFormat()
	if err := compiler.AddResource("person.schema.json", parts[0]); err != nil {
		t.Fatal(err)
	}
	form, err := compiler.Compile("person.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	return form.Validate(parts[1])
}

// checkForm holds an export to its schema, its notes to its files, and the table of the entries to
// their list.
func (w *world) checkForm(packed []byte) {
	w.t.Helper()
	files := unpacked(w.t, packed)
	if err := formFault(w.t, files["person.schema.json"], files["person.json"]); err != nil {
		w.t.Errorf("%v", err)
	}
	for name := range files {
		if !strings.Contains(files["README.txt"], "\n"+name+" ") {
			w.t.Errorf("README.txt says nothing of %s", name)
		}
	}
	var held struct {
		Entries []struct{ Stamp, Field string }
	}
	w.must(json.Unmarshal([]byte(files["person.json"]), &held))
	lines, err := csv.NewReader(strings.NewReader(files["entries.csv"])).ReadAll()
	w.must(err)
	if len(lines) != len(held.Entries)+1 {
		w.t.Fatalf("%d lines of %d entries", len(lines), len(held.Entries))
	}
	for i, e := range held.Entries {
		if lines[i+1][5] != e.Stamp || lines[i+1][2] != e.Field {
			w.t.Errorf("line %d is %q, the entry %v", i+1, lines[i+1], e)
		}
	}
}

// checkReaders holds the list of who may read the record to what closed and grants say.
func (w *world) checkReaders(have map[string]bool) {
	w.t.Helper()
	db, err := sql.Open("sqlite3", "file:"+w.path+"?mode=ro")
	w.must(err)
	defer func() { _ = db.Close() }() // read only
	var closed, named bool
	w.must(db.QueryRow("SELECT EXISTS (SELECT 1 FROM closed), EXISTS (SELECT 1 FROM grants)").Scan(
		&closed, &named))
	if have["readers.id="+w.pens[1].Person.ID] != (!closed || named) ||
		!have["readers.id="+w.pens[0].Person.ID] || have["readers.role=client"] {
		w.t.Errorf("closed %v, the coach named %v; the export has other readers", closed, named)
	}
}

// aFew tries what hangs little on what was drawn.
func aFew(t *testing.T, property func(*rapid.T)) {
	t.Helper()
	checks := flag.Lookup("rapid.checks").Value
	before := checks.String()
	if err := checks.Set("3"); err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := checks.Set(before); err != nil {
			t.Fatal(err)
		}
	}()
	rapid.Check(t, property)
}

// TestForm_Spoilt: the schema takes an export, and none with a field it does not know, another
// version, or a moment that is none.
func TestForm_Spoilt(t *testing.T) {
	aFew(t, func(t *rapid.T) {
		w := begin(t)
		defer w.end()
		w.live()
		all, err := dossier.Of(t.Context(), w.store, w.doc.String())
		w.must(err)
		files := unpacked(t, all.Zip)
		text := files["person.json"]
		for _, spoil := range [][2]string{{`"version": 1`, `"version": 2`}, {`"role": "`, `"rank": "`},
			{`"received": "2026`, `"received": "in 2026`}, {`"act": `, `"deed": `}} {
			spoilt := strings.Replace(text, spoil[0], spoil[1], 1)
			if spoilt == text || formFault(t, files["person.schema.json"], spoilt) == nil {
				t.Errorf("it takes %s", spoil[1])
			}
		}
	})
}

// TestEntriesTable: words that spreadsheets run are held back (OWASP, CSV Injection), and a number
// below zero stays one.
func TestEntriesTable(t *testing.T) {
	aFew(t, func(t *rapid.T) {
		w := begin(t)
		defer w.end()
		w.live()
		p := w.pens[0]
		for _, v := range []record.Value{record.Text("=1+1"), record.Text("@x"), record.Text("-2"),
			record.Int(-210)} {
			w.write(p, p.doc, sessions.KindSession, "tzMin", v, true)
		}
		all, err := dossier.Of(t.Context(), w.store, w.doc.String())
		w.must(err)
		table := unpacked(t, all.Zip)["entries.csv"]
		for _, cell := range []string{",'=1+1,", ",'@x,", ",'-2,", ",-210,"} {
			if !strings.Contains(table, cell) {
				t.Errorf("%s is missing", cell)
			}
		}
		if n := strings.Count(table, "\n"); n != strings.Count(table, "\r\n") {
			t.Errorf("%d lines do not end in CRLF", n)
		}
	})
}
