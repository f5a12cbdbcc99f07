package store

import (
	"context"
	"database/sql"
	"fmt"

	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// MaxDayOps is how many operations one device may send in a day (UTC). A coach's
// busiest day stays below a twentieth of it; our own choice.
const MaxDayOps = 50_000

const dayMS = 24 * 60 * 60 * 1000

// Pushed is what became of a push.
type Pushed struct {
	exchange.Judgement
	Changed []record.ID // documents that got new operations
}

// Push judges the operations that q carries for the device of m, and stores what
// was accepted, what was refused and how far the device was judged, all or
// nothing. A push that came before changes nothing. rules makes the rules it is
// judged by from what the file holds.
//
// Errors: ErrNotFound if the device is unknown or revoked, ErrLimit, ErrFull, ErrBusy.
func (s *Store) Push(
	q wire.Request, m Member, rules func(*Sheet) exchange.Rules, nowMS int64,
) (Pushed, error) {
	var p Pushed
	if len(q.Push) == 0 {
		// Most exchanges only ask for news: they must not wait for the writer.
		err := s.read(context.Background(), func(tx *sql.Tx) (err error) {
			p.Judgement, err = judge(tx, q, m, rules, nowMS)
			return err
		})
		return p, err
	}
	err := s.write(func(tx *sql.Tx) (err error) {
		if p.Judgement, err = judge(tx, q, m, rules, nowMS); err != nil {
			return err
		}
		if err := charge(tx, p.Judgement, m, nowMS); err != nil {
			return err
		}
		if err := keepState(tx, p.State); err != nil {
			return err
		}
		if err := keepRefusals(tx, p.Judgement, m, nowMS); err != nil {
			return err
		}
		p.Changed, err = appendOperations(tx, p.Accepted, nowMS)
		return err
	})
	if err != nil {
		return Pushed{}, err
	}
	return p, nil
}

func judge(
	tx *sql.Tx, q wire.Request, m Member, rules func(*Sheet) exchange.Rules, nowMS int64,
) (exchange.Judgement, error) {
	state, err := deviceState(tx, m.Device, q.PushFrom)
	if err != nil {
		return exchange.Judgement{}, err
	}
	sheet := &Sheet{tx: tx}
	j := exchange.Judge(q, state, rules(sheet), nowMS)
	return j, sheet.err
}

func deviceState(tx *sql.Tx, device clock.Device, heard uint64) (exchange.DeviceState, error) {
	d := exchange.DeviceState{Device: device, Last: clock.Stamp{Device: device}}
	epoch, err := metaNumber(tx, metaEpoch)
	if err != nil {
		return d, err
	}
	d.Epoch = epoch
	var chain []byte
	row := tx.QueryRow("SELECT have, chain, last_wall_ms, last_count,"+
		" (SELECT max(last_wall_ms) FROM devices) FROM devices"+
		" WHERE id = ? AND revoked_ms IS NULL AND ended_ms IS NULL", int64(device))
	if err := row.Scan(&d.Have, &chain, &d.Last.WallMS, &d.Last.Count, &d.LatestMS); err != nil {
		return d, translate(err)
	}
	if copy(d.Chain[:], chain) != len(d.Chain) {
		return d, fmt.Errorf("%w: a chain of %d bytes", ErrCorrupt, len(chain))
	}
	if heard > d.Have {
		return d, nil // a gap: there is nothing to tell
	}
	rows, err := tx.Query("SELECT seq, code FROM refusals WHERE device = ? AND seq > ?"+
		" ORDER BY seq LIMIT ?", int64(device), int64(heard), wire.MaxListed-wire.MaxPush)
	if err != nil {
		return d, err
	}
	defer rows.Close()
	for rows.Next() {
		var v wire.Verdict
		if err := rows.Scan(&v.Seq, &v.Code); err != nil {
			return d, err
		}
		d.Refused = append(d.Refused, v)
	}
	return d, rows.Err()
}

// charge counts what a push costs against the device's day; a push that came
// before costs nothing, one with a problem costs the line it leaves in the audit trail.
func charge(tx *sql.Tx, j exchange.Judgement, m Member, nowMS int64) error {
	cost := int64(len(j.Accepted) + len(j.Refused))
	if j.Problem != "" {
		cost = 1
	}
	if cost == 0 {
		return nil
	}
	var count int64
	today := nowMS / dayMS
	row := tx.QueryRow("UPDATE devices SET day = ?1,"+
		" day_count = CASE WHEN day = ?1 THEN day_count ELSE 0 END + ?2"+
		" WHERE id = ?3 RETURNING day_count", today, cost, int64(m.Device))
	if err := row.Scan(&count); err != nil {
		return err
	}
	if count > MaxDayOps {
		return ErrLimit
	}
	return nil
}

func keepState(tx *sql.Tx, d exchange.DeviceState) error {
	_, err := tx.Exec("UPDATE devices SET have = ?, chain = ?, last_wall_ms = ?, last_count = ?"+
		" WHERE id = ?", int64(d.Have), d.Chain[:], d.Last.WallMS, d.Last.Count, int64(d.Device))
	return err
}

// keepRefusals stores each refusal, and leaves a line in the audit trail for all
// that the phone did not ask for itself.
func keepRefusals(tx *sql.Tx, j exchange.Judgement, m Member, nowMS int64) error {
	line := Event{AtMS: nowMS, Person: m.Person.ID, Device: m.Device.String(), Act: "push"}
	if j.Problem != "" {
		line.Subject, line.Result = m.Device.String(), j.Problem
		return audit(tx, line)
	}
	for _, r := range j.Refused {
		hash := r.Op.Hash()
		_, err := tx.Exec("INSERT INTO refusals (device, seq, code, at_ms, hash)"+
			" VALUES (?, ?, ?, ?, ?)", int64(m.Device), int64(r.Op.Seq), r.Code, nowMS, hash[:])
		if err != nil {
			return err
		}
		if r.Code == wire.CodeWithdrawn {
			continue
		}
		line.Subject, line.Result = r.Op.Record.String(), r.Code
		if err := audit(tx, line); err != nil {
			return err
		}
	}
	return nil
}
