package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"

	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// Check reads everything there is and returns what is wrong, one plain sentence each;
// nothing if all is well. It changes nothing and can run beside a server.
func (s *Store) Check(ctx context.Context) (faults []string, err error) {
	err = s.readAll(ctx, func(tx *sql.Tx) error {
		for _, part := range []func(*sql.Tx) ([]string, error){
			checkFile, checkReferences, checkDocs, checkChains, checkErased, checkNews,
			checkAudit,
		} {
			found, err := part(tx)
			faults = append(faults, found...)
			if errors.Is(translate(err), ErrCorrupt) {
				faults = append(faults, "a part cannot be read: "+err.Error())
			} else if err != nil {
				return err
			}
		}
		return nil
	})
	if errors.Is(err, ErrCorrupt) {
		return append(faults, err.Error()), nil
	}
	return faults, err
}

func checkFile(tx *sql.Tx) ([]string, error) {
	return texts(tx, "PRAGMA integrity_check(20)", func(said string) string {
		if said == "ok" {
			return ""
		}
		return "SQLite says: " + said
	})
}

func checkReferences(tx *sql.Tx) ([]string, error) {
	return texts(tx, `SELECT "table" FROM pragma_foreign_key_check`, func(table string) string {
		return "a row of " + table + " refers to one that is missing"
	})
}

// texts runs a query of one text column and returns what f makes of each, but "".
func texts(tx *sql.Tx, query string, f func(string) string) (all []string, err error) {
	rows, err := tx.Query(query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var said string
		if err := rows.Scan(&said); err != nil {
			return all, err
		}
		if made := f(said); made != "" {
			all = append(all, made)
		}
	}
	return all, rows.Err()
}

// checkDocs holds each document's operations against its head, digest and records.
func checkDocs(tx *sql.Tx) (faults []string, err error) {
	var docs []docRow
	ids := map[int64]record.ID{}
	rows, err := tx.Query("SELECT num, id, head, digest FROM docs ORDER BY num")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var d docRow
		var packed, digest []byte
		if err := rows.Scan(&d.num, &packed, &d.head, &digest); err != nil {
			return nil, err
		}
		copy(d.digest[:], digest)
		if ids[d.num], err = unpackID(packed); err != nil {
			return nil, err
		}
		docs = append(docs, d)
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	for _, d := range docs {
		fault, err := checkDoc(tx, d, ids[d.num])
		if err != nil {
			fault = err.Error()
		}
		if fault != "" {
			faults = append(faults, fmt.Sprintf("document %s: %s", ids[d.num], fault))
		}
	}
	return faults, nil
}

func checkDoc(tx *sql.Tx, d docRow, id record.ID) (fault string, err error) {
	rows, err := tx.Query("SELECT n, device, seq, bytes FROM ops WHERE doc = ? ORDER BY n",
		d.num)
	if err != nil {
		return "", err
	}
	defer rows.Close()
	known, err := kinds(tx, d.num)
	if err != nil {
		return "", err
	}
	var digest [32]byte
	var head uint64
	for rows.Next() {
		var n uint64
		var device, seq int64
		var stored []byte
		if err := rows.Scan(&n, &device, &seq, &stored); err != nil {
			return "", err
		}
		op, err := unpackOperation(stored)
		if err != nil {
			return "", err
		}
		head++
		switch {
		case n != head:
			return fmt.Sprintf("operation number %d is missing", head), nil
		case op.Doc != id || op.Stamp.Device != clock.Device(device) || op.Seq != uint64(seq):
			return fmt.Sprintf("operation number %d is not the one its row says", n), nil
		case known[op.Record] != op.Kind:
			return fmt.Sprintf("record %s is not listed with its kind", op.Record), nil
		}
		digest = record.AddDigest(digest, op)
	}
	if err := rows.Err(); err != nil {
		return "", err
	}
	if head != d.head || digest != d.digest {
		return fmt.Sprintf("its %d operations are not the %d that were taken in", head, d.head), nil
	}
	return "", nil
}

// kinds returns the kind of each record of a document.
func kinds(tx *sql.Tx, num int64) (map[record.ID]string, error) {
	rows, err := tx.Query("SELECT id, kind FROM records WHERE doc = ?", num)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	known := map[record.ID]string{}
	for rows.Next() {
		var packed []byte
		var kind string
		if err := rows.Scan(&packed, &kind); err != nil {
			return nil, err
		}
		id, err := unpackID(packed)
		if err != nil {
			return nil, err
		}
		known[id] = kind
	}
	return known, rows.Err()
}

// follower follows the hash chain of one device.
type follower struct {
	device clock.Device
	at     uint64
	chain  [32]byte
	fault  string
}

// step takes in the operation seq, of which only the hash is needed.
func (f *follower) step(seq uint64, hash [32]byte, known bool) {
	switch {
	case f.fault != "" || seq <= f.at:
		return
	case seq != f.at+1:
		f.fault = fmt.Sprintf("operation %d of phone %s is missing", f.at+1, f.device)
	case !known:
		f.fault = fmt.Sprintf("the refusal of operation %d of phone %s has no hash", seq, f.device)
	}
	f.at, f.chain = seq, record.NextChainHash(f.chain, hash)
}

// checkChains follows the chain of every phone from where it can be followed to what the
// server last told that phone.
func checkChains(tx *sql.Tx) (faults []string, err error) {
	rows, err := tx.Query("SELECT id, base, base_chain, have, chain FROM devices ORDER BY id")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		var have uint64
		var base, chain []byte
		f := follower{}
		if err := rows.Scan(&id, &f.at, &base, &have, &chain); err != nil {
			return faults, err
		}
		copy(f.chain[:], base)
		f.device = clock.Device(id)
		if err := follow(tx, &f); err != nil {
			return faults, err
		}
		if f.fault == "" && (f.at != have || !bytes.Equal(f.chain[:], chain)) {
			f.fault = fmt.Sprintf("what phone %s sent is not what is stored: it was judged up to"+
				" %d, the chain ends at %d", f.device, have, f.at)
		}
		if f.fault != "" {
			faults = append(faults, f.fault)
		}
	}
	return faults, rows.Err()
}

func follow(tx *sql.Tx, f *follower) error {
	rows, err := tx.Query("SELECT seq, bytes, NULL FROM ops WHERE device = ?1 AND seq > ?2"+
		" UNION ALL SELECT seq, NULL, hash FROM refusals WHERE device = ?1 AND seq > ?2"+
		" ORDER BY 1", int64(f.device), int64(f.at))
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var seq uint64
		var stored, kept []byte
		if err := rows.Scan(&seq, &stored, &kept); err != nil {
			return err
		}
		var hash [32]byte
		if stored != nil {
			op, err := unpackOperation(stored)
			if err != nil {
				f.fault = err.Error()
				return nil
			}
			hash = op.Hash()
		} else {
			copy(hash[:], kept)
		}
		f.step(seq, hash, stored != nil || kept != nil)
	}
	return rows.Err()
}

func checkErased(tx *sql.Tx) ([]string, error) {
	return texts(tx, "SELECT hex(id) FROM docs WHERE id IN (SELECT doc FROM erased)",
		func(id string) string { return "document " + id + " was erased and is here again" })
}

// checkNews finds staff who would never hear of a document that they may read.
func checkNews(tx *sql.Tx) ([]string, error) {
	return texts(tx, "SELECT p.id || ' of document ' || hex(d.id) FROM people p, docs d"+
		" WHERE p.doc IS NULL AND "+mayReadDocs+
		" AND NOT EXISTS (SELECT 1 FROM news n WHERE n.person = p.id AND n.doc = d.id)",
		func(who string) string { return "nothing tells person " + who })
}

func checkAudit(tx *sql.Tx) ([]string, error) {
	fault, err := checkTrail(tx)
	if fault == "" || err != nil {
		return nil, err
	}
	return []string{fault}, nil
}
