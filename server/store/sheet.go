package store

import (
	"database/sql"
	"errors"

	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// Sheet is what the rules for a push may look up, as it stands when the push is
// judged. It is good only until then. After a fault of the file it answers with
// nothing and the whole push fails.
type Sheet struct {
	tx  *sql.Tx
	err error
}

// CanRead reports whether a person may see the document.
func (s *Sheet) CanRead(person string, doc record.ID) bool {
	may, err := canRead(s.tx, person, doc)
	return s.isFound(err) && may
}

// HasDoc reports whether the document has come in.
func (s *Sheet) HasDoc(doc record.ID) bool {
	_, err := findDoc(s.tx, doc)
	return s.isFound(err)
}

// IsErased reports whether the document was erased for good.
func (s *Sheet) IsErased(doc record.ID) bool {
	is, err := isErased(s.tx, doc)
	return s.isFound(err) && is
}

// Kind returns the kind of a record of a document, "" if it has not come in.
func (s *Sheet) Kind(doc, rec record.ID) string {
	var kind string
	row := s.tx.QueryRow("SELECT kind FROM records WHERE doc = (SELECT num FROM docs WHERE id = ?)"+
		" AND id = ?", packID(doc), packID(rec))
	s.isFound(translate(row.Scan(&kind)))
	return kind
}

// PersonOf returns the id of the person a device belongs or belonged to, "" for
// a device that was never let in.
func (s *Sheet) PersonOf(device clock.Device) string {
	id, err := personOf(s.tx, device)
	s.isFound(err)
	return id
}

// PracticeDoc returns the identifier of the practice document.
func (s *Sheet) PracticeDoc() record.ID {
	id, err := practiceDoc(s.tx)
	s.isFound(err)
	return id
}

// isFound reports whether err is nil and keeps the first fault of the file.
func (s *Sheet) isFound(err error) bool {
	if err != nil && s.err == nil && !errors.Is(err, ErrNotFound) {
		s.err = err
	}
	return err == nil
}
