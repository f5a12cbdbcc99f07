package store

import (
	"context"
	"database/sql"
	"errors"

	"evenhold/sync/clock"
	"evenhold/sync/wire"
)

// Bounds of one answer: small enough for a slow connection and a small phone; the
// rest comes with the next.
const (
	answerOps  = wire.MaxResponseOps
	pageBytes  = 512 << 10
	maxChanged = 1000
)

// News is what a phone may learn: changes, pages, and documents it may not see.
type News struct {
	Seen    uint64
	Changed []wire.Changed
	More    bool
	Pages   []wire.Page
	Gone    []wire.Gone
}

// Pull returns what changed since q.Seen and the pages q asks for, of the
// documents that the person of m may see. The device's own operations are left
// out of pages, unless a document is asked for as a whole.
func (s *Store) Pull(ctx context.Context, q wire.Request, m Member) (n News, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		if err := changes(tx, &n, q.Seen, m.Person); err != nil {
			return err
		}
		if err := losses(tx, &n, q.Seen, m.Person); err != nil {
			return err
		}
		return pages(tx, &n, q, m)
	})
	return n, err
}

// changes lists changed documents. The practice's change numbers would tell how busy it is with
// what is out of sight, so each of the staff has news of their own, and a client's counts one
// document only.
func changes(tx *sql.Tx, n *News, seen uint64, p Person) error {
	query, args := "SELECT d.id, d.head, d.digest, n.n FROM news n"+
		" JOIN docs d ON d.id = n.doc JOIN people p ON p.id = n.person"+
		" WHERE p.id = ? AND n.n > ? AND "+mayReadNews+" ORDER BY n.n LIMIT ?",
		[]any{p.ID, int64(seen), maxChanged + 1}
	if !p.Doc.IsZero() {
		query, args = "SELECT id, head, digest, head FROM docs WHERE head > ? AND id = ?",
			[]any{int64(seen), packID(p.Doc)}
	}
	n.Seen = seen
	rows, err := tx.Query(query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var packed, digest []byte
		var c wire.Changed
		var number uint64
		if err := rows.Scan(&packed, &c.Head, &digest, &number); err != nil {
			return err
		}
		if c.Doc, err = unpackID(packed); err != nil {
			return err
		}
		if len(n.Changed) == maxChanged {
			n.More = true
			break
		}
		copy(c.Digest[:], digest)
		n.Changed = append(n.Changed, c)
		n.Seen = number
	}
	return rows.Err()
}

// losses tells of documents that were erased, or closed to this person, past seen, as far as the
// news goes: whoever holds one wipes it. A client is told of the own document whenever it asks.
func losses(tx *sql.Tx, n *News, seen uint64, p Person) error {
	query, args := "SELECT n.doc, n.n, "+mayReadNews+" AS reads FROM news n"+
		" JOIN people p ON p.id = n.person LEFT JOIN erased e ON e.doc = n.doc"+
		" WHERE p.id = ? AND n.n > ? AND (e.doc IS NOT NULL OR NOT reads) ORDER BY n.n LIMIT ?",
		[]any{p.ID, int64(seen), maxChanged}
	if !p.Doc.IsZero() {
		query, args = "SELECT doc, 0, 1 FROM erased WHERE doc = ?", []any{packID(p.Doc)}
	}
	rows, err := tx.Query(query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	told := 0
	for rows.Next() {
		var packed []byte
		var number uint64
		var reads bool
		if err := rows.Scan(&packed, &number, &reads); err != nil {
			return err
		}
		doc, err := unpackID(packed)
		if err != nil {
			return err
		}
		if n.More && number > n.Seen {
			break // with the rest of the news
		}
		reason := wire.CodeErased
		if !reads {
			reason = wire.CodeGone
		}
		n.Gone = append(n.Gone, wire.Gone{Doc: doc, Reason: reason})
		told++
		if told == maxChanged {
			n.Seen, n.More = number, true // what was listed past it is listed again
			break
		}
		n.Seen = max(n.Seen, number)
	}
	return rows.Err()
}

func pages(tx *sql.Tx, n *News, q wire.Request, m Member) error {
	left := purse{ops: answerOps, bytes: pageBytes}
	for _, pull := range q.Pulls {
		may, err := canRead(tx, m.Person.ID, pull.Doc)
		if err != nil {
			return err
		}
		if !may {
			// Said to clients of documents that do not exist as well, so that it tells nothing.
			// They never hold an unsent document of their own making.
			n.Gone = append(n.Gone, wire.Gone{Doc: pull.Doc, Reason: wire.CodeGone})
			continue
		}
		is, err := isErased(tx, pull.Doc)
		if err != nil {
			return err
		}
		if is || left.isEmpty() {
			continue // told above, or long ago; or the rest comes with the next
		}
		d, err := findDoc(tx, pull.Doc)
		if errors.Is(err, ErrNotFound) {
			continue // made on the asking phone and not sent yet, or lost with an older file
		}
		if err != nil {
			return err
		}
		page := wire.Page{Doc: pull.Doc, From: pull.After, To: pull.After, Head: d.head}
		own := m.Device
		if pull.IsWhole {
			own = 0 // its copy was wiped: it has none of its own either
		}
		if err := fillPage(tx, &page, d.num, own, &left); err != nil {
			return err
		}
		n.Pages = append(n.Pages, page)
	}
	return nil
}

// purse is what is left to spend on the pages of one answer.
type purse struct{ ops, bytes int }

func (p purse) isEmpty() bool { return p.ops <= 0 || p.bytes <= 0 }

func fillPage(
	tx *sql.Tx, page *wire.Page, num int64, own clock.Device, left *purse,
) error {
	rows, err := tx.Query("SELECT n, device, bytes FROM ops WHERE doc = ? AND n > ? ORDER BY n",
		num, int64(page.From))
	if err != nil {
		return err
	}
	defer rows.Close()
	for !left.isEmpty() && len(page.Ops) < wire.MaxPageOps && rows.Next() {
		var device int64
		var stored sql.RawBytes
		if err := rows.Scan(&page.To, &device, &stored); err != nil {
			return err
		}
		if clock.Device(device) == own {
			continue
		}
		op, err := unpackOperation(stored)
		if err != nil {
			return err
		}
		page.Ops = append(page.Ops, op)
		left.ops--
		left.bytes -= len(stored)
	}
	return rows.Err()
}
