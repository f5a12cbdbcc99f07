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
	"encoding/json"
	"errors"
	"fmt"
	"io"

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

// notes is readme.txt in the file.
const notes = `Everything this practice's server holds about one person.

about.json          the person, their phones, the invitations made out to them, entries
                    of theirs that were refused, and the lines of the audit trail that
                    name them, their record or their phones
entries.json        every entry that was ever made in their record, also those that were
                    replaced, contradicted or taken back ("voided"); for a member of staff
                    the entries by which their phones said who they are
holds-and-sets.csv  the holds and sets that count, as a table

Not in here: hashes, keys and other secrets by which phones are let in and by which the
file finds out damage. They say nothing about a person. Times are in UTC.

It is read by whom the practice lets in: the owner, coaches and assistants, and the person.
Backups hold the same. It is used to test, plan and log training, and for nothing else.
`

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
	var all []entry
	merged := record.NewDoc(doc)
	for _, r := range about.Entries {
		all = append(all, entryOf(r))
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
		{"readme.txt", notes},
		{"about.json", map[string][]store.Row{
			"person": about.People, "phones": about.Phones, "invitations": about.Invitations,
			"refused": about.Refusals, "audit": about.Audit,
		}},
		{"entries.json", all},
		{"holds-and-sets.csv", export.Efforts(sessions.Tests(merged), sessions.Trunks(merged),
			sessions.Sessions(merged))},
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
