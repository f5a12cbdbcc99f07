package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// Document returns a document with all its operations, merged; an empty one if
// there is none with this identifier.
func (s *Store) Document(ctx context.Context, id record.ID) (doc *record.Doc, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		doc, err = document(tx, id)
		return err
	})
	return doc, err
}

// Documents returns the identifiers of all documents, the practice's included.
func (s *Store) Documents(ctx context.Context) (all []record.ID, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		all, err = ids(tx, "SELECT id FROM docs ORDER BY num")
		return err
	})
	return all, err
}

func document(tx *sql.Tx, id record.ID) (*record.Doc, error) {
	doc := record.NewDoc(id)
	rows, err := tx.Query("SELECT bytes FROM ops WHERE doc = (SELECT num FROM docs WHERE id = ?)"+
		" ORDER BY n", packID(id))
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var stored sql.RawBytes
		if err := rows.Scan(&stored); err != nil {
			return nil, err
		}
		op, err := unpackOperation(stored)
		if err != nil {
			return nil, err
		}
		if _, err := doc.Apply(op); err != nil {
			return nil, fmt.Errorf("%w: operation %s: %w", ErrCorrupt, op.ID(), err)
		}
	}
	return doc, rows.Err()
}

func unpackOperation(stored []byte) (record.Operation, error) {
	ops, err := wire.Operations(stored)
	if err != nil {
		return record.Operation{}, fmt.Errorf("%w: operation: %w", ErrCorrupt, err)
	}
	if len(ops) != 1 {
		return record.Operation{}, fmt.Errorf("%w: %d operations in one row", ErrCorrupt, len(ops))
	}
	return ops[0], nil
}

// docRow is what is kept of a document beside its operations.
type docRow struct {
	num    int64
	head   uint64
	digest [32]byte
}

func findDoc(tx *sql.Tx, id record.ID) (docRow, error) {
	var d docRow
	var digest []byte
	row := tx.QueryRow("SELECT num, head, digest FROM docs WHERE id = ?", packID(id))
	if err := row.Scan(&d.num, &d.head, &digest); err != nil {
		return docRow{}, translate(err)
	}
	if copy(d.digest[:], digest) != len(d.digest) {
		return docRow{}, fmt.Errorf("%w: a digest of %d bytes", ErrCorrupt, len(digest))
	}
	return d, nil
}

// appendOperations numbers and stores operations that have been judged, and
// returns the documents they changed in order of first appearance. Each changed
// document takes one number of the practice's changes.
func appendOperations(tx *sql.Tx, ops []record.Operation, nowMS int64) ([]record.ID, error) {
	docs := map[record.ID]*docRow{}
	var changed []record.ID
	for _, op := range ops {
		d, found := docs[op.Doc]
		if !found {
			row, err := openDoc(tx, op)
			if err != nil {
				return nil, err
			}
			d = &row
			docs[op.Doc] = d
			changed = append(changed, op.Doc)
		}
		d.head++
		d.digest = record.AddDigest(d.digest, op)
		if err := appendOperation(tx, d, op, nowMS); err != nil {
			return nil, err
		}
	}
	for _, id := range changed {
		change, err := nextChange(tx)
		if err != nil {
			return nil, err
		}
		d := docs[id]
		_, err = tx.Exec("UPDATE docs SET head = ?, digest = ?, changed = ? WHERE num = ?",
			int64(d.head), d.digest[:], int64(change), d.num)
		if err != nil {
			return nil, err
		}
		if err := spread(tx, id); err != nil {
			return nil, err
		}
	}
	return changed, nil
}

// openDoc finds the document op belongs to, or makes its row: op's kind is then the kind of
// the document's first record.
func openDoc(tx *sql.Tx, op record.Operation) (docRow, error) {
	d, err := findDoc(tx, op.Doc)
	if !errors.Is(err, ErrNotFound) {
		return d, err
	}
	change, err := nextChange(tx)
	if err != nil {
		return docRow{}, err
	}
	result, err := tx.Exec("INSERT INTO docs (id, kind, digest, changed) VALUES (?, ?, ?, ?)",
		packID(op.Doc), op.Kind, zeroChain[:], int64(change))
	if err != nil {
		return docRow{}, err
	}
	num, err := result.LastInsertId()
	return docRow{num: num}, err
}

func appendOperation(tx *sql.Tx, d *docRow, op record.Operation, nowMS int64) error {
	_, err := tx.Exec("INSERT INTO ops (doc, n, device, seq, at_ms, bytes) VALUES (?, ?, ?, ?, ?, ?)",
		d.num, int64(d.head), int64(op.Stamp.Device), int64(op.Seq), nowMS,
		wire.AppendOperations(nil, []record.Operation{op}))
	if err != nil {
		return err
	}
	_, err = tx.Exec("INSERT INTO records (doc, id, kind) VALUES (?, ?, ?)"+
		" ON CONFLICT (doc, id) DO NOTHING", d.num, packID(op.Record), op.Kind)
	return err
}

func nextChange(tx *sql.Tx) (uint64, error) {
	change, err := metaNumber(tx, metaChange)
	if err != nil {
		return 0, err
	}
	change++
	return change, setMeta(tx, metaChange, fmt.Sprint(change))
}
