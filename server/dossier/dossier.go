// Package dossier writes everything the practice holds about one person into one file, for the
// person: the right of access and to take one's data along.
//
// The same file comes from the command and from the button: the same state of the practice gives
// the same bytes. It is safe for use by several goroutines.
package dossier

import (
	"archive/zip"
	"bytes"
	"context"
	_ "embed" // README.txt and person.schema.json
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"evenhold/internal/export"
	"evenhold/internal/sessions"
	"evenhold/server/store"
	"evenhold/sync/record"
)

// ErrNobody says that nothing is held under an id.
var ErrNobody = errors.New("nobody has this id")

// Dossier is the file and what it is of.
type Dossier struct {
	Zip     []byte
	Entries int
}

// notes is README.txt in the file.
//
//go:embed README.txt
var notes string

// schema is the form of person.json, JSON Schema 2020-12; version is its number.
//
//go:embed person.schema.json
var schema string

const version = 1

// person is person.json.
type person struct {
	Version     int         `json:"version"`
	Person      []store.Row `json:"person"`
	Record      []store.Row `json:"record"`
	Readers     []store.Row `json:"readers"`
	Shared      []store.Row `json:"shared"`
	Phones      []store.Row `json:"phones"`
	Invitations []store.Row `json:"invitations"`
	Refused     []store.Row `json:"refused"`
	Audit       []store.Row `json:"audit"`
	Entries     []entry     `json:"entries"`
}

// entry is one operation as the file shows it.
type entry struct {
	Record   string   `json:"record"`
	Kind     string   `json:"kind"`
	Field    string   `json:"field"`
	Value    any      `json:"value"`
	At       string   `json:"at"` // by the clock that the entry was put in order with
	Stamp    string   `json:"stamp"`
	Number   uint64   `json:"number"`
	Phone    string   `json:"phone"`
	Read     string   `json:"read,omitempty"` // what the phone's own clock said, if it was wrong
	Received string   `json:"received"`
	Replaces []string `json:"replaces,omitempty"` // stamps
}

// Of gathers what there is about the client whose record has this id, or the member of staff.
func Of(ctx context.Context, s *store.Store, id string) (Dossier, error) {
	doc, err := record.ParseID(id)
	staff := ""
	if err != nil {
		doc, staff = record.ID{}, id
	}
	about, err := s.About(ctx, doc, staff)
	if err != nil {
		return Dossier{}, err
	}
	if len(about.People) == 0 && len(about.Entries) == 0 {
		return Dossier{}, ErrNobody
	}
	var b bytes.Buffer
	if err := write(&b, about, doc); err != nil {
		return Dossier{}, fmt.Errorf("export: %w", err)
	}
	return Dossier{Zip: b.Bytes(), Entries: len(about.Entries)}, nil
}

func write(w io.Writer, about store.About, doc record.ID) error {
	all := person{version, rows(about.People), rows(about.Record), rows(about.Readers),
		rows(about.Shared), rows(about.Phones), rows(about.Invitations), rows(about.Refusals),
		rows(about.Audit), []entry{}}
	merged := record.NewDoc(doc)
	for _, r := range about.Entries {
		all.Entries = append(all.Entries, entryOf(r))
		if r.Doc != doc {
			continue
		}
		if _, err := merged.Apply(r.Operation); err != nil {
			return err
		}
	}
	parts := []struct {
		name string
		of   any
	}{
		{"README.txt", notes},
		{"person.json", all},
		{"person.schema.json", schema},
		{"entries.csv", table(all.Entries)},
		{"holds-and-sets.csv", export.Efforts(sessions.Tests(merged), sessions.Trunks(merged),
			sessions.Sessions(merged))},
		{"fhir.json", fhir(merged)},
	}
	if doc.IsZero() {
		parts = parts[:4] // a member of staff is nobody's patient here, and has no sets
	}
	z := zip.NewWriter(w)
	for _, part := range parts {
		text, is := part.of.(string)
		if !is {
			pretty, err := json.MarshalIndent(part.of, "", " ")
			if err != nil {
				return err
			}
			text = string(pretty) + "\n"
		}
		f, err := z.CreateHeader(&zip.FileHeader{Name: part.name, Method: zip.Deflate})
		if err != nil {
			return err
		}
		if _, err := io.WriteString(f, text); err != nil {
			return err
		}
	}
	return z.Close()
}

// rows are never null: who reads the file finds a list.
func rows(all []store.Row) []store.Row { return append([]store.Row{}, all...) }

// table is the entries as CSV. Numbers stay numbers; all else is held back from being run.
func table(all []entry) string {
	lines := [][]string{{"record", "kind", "field", "value", "at", "stamp", "number", "phone", "read",
		"received", "replaces"}}
	for _, e := range all {
		value := fmt.Sprint(e.Value)
		switch v := e.Value.(type) {
		case string:
			value = export.Text(v)
		case []byte:
			value = base64.StdEncoding.EncodeToString(v)
		}
		lines = append(lines, []string{e.Record, export.Text(e.Kind), export.Text(e.Field), value, e.At,
			e.Stamp, strconv.FormatUint(e.Number, 10), e.Phone, e.Read, e.Received,
			strings.Join(e.Replaces, " ")})
	}
	return export.Table(lines)
}

func entryOf(r store.Received) entry {
	e := entry{
		Record: r.Record.String(), Kind: r.Kind, Field: r.Field, At: store.Readable(r.Stamp.WallMS),
		Stamp: r.Stamp.String(), Number: r.Seq, Phone: r.Stamp.Device.String(),
		Received: store.Readable(r.AtMS),
	}
	if r.ReadMS != 0 {
		e.Read = store.Readable(r.ReadMS)
	}
	for _, stamp := range r.Replaces {
		e.Replaces = append(e.Replaces, stamp.String())
	}
	if n, is := r.Value.Int(); is {
		e.Value = n
	} else if text, is := r.Value.Text(); is {
		e.Value = text
	} else if b, is := r.Value.Bool(); is {
		e.Value = b
	} else {
		payload, _ := r.Value.Payload()
		e.Value = []byte(payload)
	}
	return e
}
