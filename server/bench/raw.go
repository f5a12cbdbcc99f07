package main

import (
	"database/sql"
	"errors"
	"net/url"
	"path/filepath"
	"time"

	_ "github.com/mattn/go-sqlite3" // the driver that the server stores with

	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// rawParameters are those of the server's own writer; a test holds the two together.
const rawParameters = "_journal_mode=WAL&_synchronous=FULL&_foreign_keys=1" +
	"&_busy_timeout=5000&_txlock=immediate&_secure_delete=true"

// rawTable has the columns and the key of the server's table of operations, without its second
// index: the least that keeping an operation in order takes.
const rawTable = `CREATE TABLE ops (
	doc INTEGER NOT NULL, n INTEGER NOT NULL, device INTEGER NOT NULL, seq INTEGER NOT NULL,
	at_ms INTEGER NOT NULL, bytes BLOB NOT NULL, PRIMARY KEY (doc, n)
) STRICT, WITHOUT ROWID`

// raw is the peer of a push: nothing but SQLite.
type raw struct {
	db     *sql.DB
	insert *sql.Stmt
	n      int64
}

func openRaw(folder string) (*raw, error) {
	path := (&url.URL{Path: filepath.Join(folder, "raw.db")}).EscapedPath()
	db, err := sql.Open("sqlite3", "file:"+path+"?"+rawParameters)
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	r := &raw{db: db}
	if _, err = db.Exec(rawTable); err == nil {
		r.insert, err = db.Prepare("INSERT INTO ops (doc, n, device, seq, at_ms, bytes)" +
			" VALUES (1, ?, ?, ?, ?, ?)")
	}
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return r, nil
}

func (r *raw) close() error { return errors.Join(r.insert.Close(), r.db.Close()) }

// store inserts each batch in a transaction of its own and returns the nanoseconds of one.
func (r *raw) store(batches [][]record.Operation) (ns float64, err error) {
	stored := make([][][]byte, len(batches))
	for i, batch := range batches {
		for _, op := range batch {
			stored[i] = append(stored[i], wire.AppendOperations(nil, []record.Operation{op}))
		}
	}
	start := time.Now()
	for i, batch := range batches {
		if err := r.storeBatch(batch, stored[i]); err != nil {
			return 0, err
		}
	}
	return float64(time.Since(start)) / float64(len(batches)), nil
}

func (r *raw) storeBatch(batch []record.Operation, stored [][]byte) error {
	tx, err := r.db.Begin()
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }() // after the commit it does nothing
	insert := tx.Stmt(r.insert)
	for i, op := range batch {
		r.n++
		_, err := insert.Exec(r.n, int64(op.Stamp.Device), int64(op.Seq), op.Stamp.WallMS, stored[i])
		if err != nil {
			return err
		}
	}
	return tx.Commit()
}
