package app

import (
	"errors"
	"strconv"
	"strings"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// errRole stands for an attempt to write what this person may not; the screens
// do not offer it, so it is a stale screen or a slip.
var errRole = refuse("role", "", say("error.role"))

// create writes a new record and says once in each document who this phone is.
func (a *App) create(d *record.Doc, kind string, values []record.FieldValue) (record.ID, error) {
	if !sessions.MayWrite(a.me.Role, kind, "", true) {
		return record.ID{}, errRole
	}
	if err := a.introduce(d, kind); err != nil {
		return record.ID{}, err
	}
	id, ops, err := a.link.phone.Author().Create(d, kind, values, a.wallMS())
	if err != nil {
		return record.ID{}, a.tooLong(err)
	}
	a.fresh[d.ID()] = append(a.fresh[d.ID()], ops...)
	return id, nil
}

// introduce writes the author record of this phone, once in each client
// document. A new document opens with its client, so the name comes after it.
func (a *App) introduce(d *record.Doc, kind string) error {
	if kind == sessions.KindClient || kind == sessions.KindPractice || kind == sessions.KindAuthor {
		return nil
	}
	if _, known := sessions.AuthorOf(d, a.device()); known {
		return nil
	}
	author := sessions.Author{Name: a.me.Name, Role: a.me.Role}
	_, err := a.create(d, sessions.KindAuthor, author.Values())
	return err
}

// write changes one field of a record, if it says something new.
func (a *App) write(d *record.Doc, id record.ID, field string, v record.Value) error {
	r, found := d.Record(id)
	if !found {
		return refuse("unknown_record", "", say("error.unknown_record"))
	}
	return a.writeAs(d, id, r.Kind(), field, v)
}

// writeAs is write for a record of that kind, which need not have begun.
func (a *App) writeAs(d *record.Doc, id record.ID, kind, field string, v record.Value) error {
	if !sessions.MayWrite(a.me.Role, kind, field, id.Device == a.device()) {
		return errRole
	}
	if r, found := d.Record(id); found && r.Register(field).Value() == v {
		return nil
	}
	if err := a.introduce(d, kind); err != nil {
		return err
	}
	op, err := a.link.phone.Author().Write(d, id, kind, field, v, a.wallMS())
	if err != nil {
		return a.tooLong(err)
	}
	a.fresh[d.ID()] = append(a.fresh[d.ID()], op)
	return nil
}

// resolve keeps one of the values recorded alongside each other.
func (a *App) resolve(d *record.Doc, id record.ID, field, stamp string) error {
	keep, err := parseStamp(stamp)
	if err != nil {
		return err
	}
	r, found := d.Record(id)
	if !found || !sessions.MayWrite(a.me.Role, r.Kind(), field, id.Device == a.device()) {
		return errRole
	}
	op, err := a.link.phone.Author().Resolve(d, id, field, keep, a.wallMS())
	if err != nil {
		return refuse("settled", "", say("error.settled"))
	}
	a.fresh[d.ID()] = append(a.fresh[d.ID()], op)
	return nil
}

func (a *App) tooLong(err error) error {
	if errors.Is(err, record.ErrKind) {
		return refuse("kind", "", say("error.unknown_record"))
	}
	return refuse("too_long", "", say("error.too_long"))
}

// snapshotAfter is how many operations a document's log may hold before it is
// folded into its snapshot: small enough that a start reads little, large
// enough that a session's sets do not each rewrite the record.
const snapshotAfter = 400

// historyMS is how long a phone keeps what other devices have replaced; the server keeps it for
// good. A season of training, so that a coach can look back at the courtside.
const historyMS = 120 * 24 * 3600 * 1000

// flush turns the operations of this command into rows to store.
func (a *App) flush() {
	if len(a.fresh) == 0 {
		return
	}
	for _, id := range sortedIDs(a.fresh) {
		a.storeOps(id, a.fresh[id])
		delete(a.cache, id)
	}
	a.fresh = map[record.ID][]record.Operation{}
}

// storeOps appends operations to a document's log, or folds the log into its
// snapshot when it has grown long.
func (a *App) storeOps(id record.ID, ops []record.Operation) {
	if len(ops) == 0 {
		return
	}
	a.link.logN++
	a.link.logged[id] += len(ops)
	if a.link.logged[id] < snapshotAfter {
		a.putBlob("log", logKey(id, a.link.logN), wire.AppendOperations(nil, ops))
		return
	}
	a.storeWhole(id)
}

// storeWhole writes a document's snapshot and drops its log.
func (a *App) storeWhole(id record.ID) {
	d, found := a.doc(id)
	if !found {
		a.drop("snap", id.String())
		a.dropLog(id)
		return
	}
	a.link.logged[id] = 0
	a.link.phone.Compact(id, a.wallMS()-historyMS)
	a.putBlob("snap", id.String(), wire.AppendSnapshot(nil, d))
	a.dropLog(id)
}

func (a *App) dropLog(id record.ID) {
	a.writes = append(a.writes, Write{
		Store: "log", Key: id.String(), Delete: true,
		Range: []string{logKey(id, 0), logKey(id, a.link.logN)},
	})
}

// logKey pads the number, so that keys sort as numbers do.
func logKey(id record.ID, n int64) string {
	digits := strconv.FormatInt(n, 10)
	return id.String() + "/" + strings.Repeat("0", max(12-len(digits), 0)) + digits
}
