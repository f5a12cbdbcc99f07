package app

import (
	"errors"
	"sort"
	"strconv"
	"strings"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// link is this phone's end of the conversation with the server, and what the
// screens say of it.
type link struct {
	phone     *exchange.Phone
	logN      int64             // of the last log row
	logged    map[record.ID]int // operations in each document's log
	isSending bool
	out       string // why this phone is not let in any more; "" if it is
	batch     int    // how many were unsent when sending began
	sentMS    int64  // when all was sent last
	contact   contact
}

// start makes a phone without any history.
func (l *link) start(device clock.Device) {
	l.phone = exchange.NewPhone(exchange.State{Device: device}, nil)
	l.logged = map[record.ID]int{}
}

func (l *link) unsent() int {
	if l.phone == nil {
		return 0
	}
	return l.phone.Unsent()
}

// attention counts what a person has to look at: operations that the server
// refused.
func (l *link) attention() int {
	if l.phone == nil {
		return 0
	}
	return len(l.phone.Refused())
}

// docs returns the documents that hold anything, by identifier.
func (a *App) docs() []*record.Doc {
	if a.link.phone == nil {
		return nil
	}
	var all []*record.Doc
	for _, id := range a.link.phone.Docs() {
		d, _ := a.link.phone.Doc(id)
		all = append(all, d)
	}
	return all
}

func (a *App) doc(id record.ID) (*record.Doc, bool) {
	if a.link.phone == nil {
		return nil, false
	}
	d, found := a.link.phone.Doc(id)
	return d, found && d.Len() > 0
}

// wallMS is the time to write with: the phone's, corrected by what the server
// told.
func (a *App) wallMS() int64 { return a.link.phone.WallMS(a.now.At.WallMS) }

// storedRow names a row that came with "open".
type storedRow struct {
	Store string `json:"store"`
	Key   string `json:"key"`
}

// errStorage says that stored bytes could not be read.
var errStorage = refuse("storage", "", say("error.storage_read"))

// openDocs reads the documents from their snapshots and logs. Rows that cannot
// be read are left where they are and told of; the rest opens.
func (a *App) openDocs(rows []storedRow, state string) error {
	docs := map[record.ID]*record.Doc{}
	a.link.logged = map[record.ID]int{}
	var trouble error
	for i, row := range rows {
		if i >= len(a.now.blobs) || a.openRow(row, a.now.blobs[i], docs) != nil {
			trouble = errStorage
		}
	}
	raw, err := parseHex(state)
	parsed, parseErr := exchange.ParseState(raw)
	if err != nil || parseErr != nil || parsed.Device != a.device() {
		// Without its state the phone asks the server for everything again.
		parsed = exchange.State{Device: a.device()}
	}
	all := make([]*record.Doc, 0, len(docs))
	for _, id := range sortedIDs(docs) {
		all = append(all, docs[id])
	}
	a.link.phone = exchange.NewPhone(parsed, all)
	return trouble
}

// openRow reads one snapshot or log row. Snapshots come before logs.
func (a *App) openRow(row storedRow, bytes []byte, docs map[record.ID]*record.Doc) error {
	if row.Store == "snap" {
		d, err := wire.Snapshot(bytes)
		if err != nil {
			return err
		}
		if held, found := docs[d.ID()]; found {
			return held.Merge(d)
		}
		docs[d.ID()] = d
		return nil
	}
	name, number, _ := strings.Cut(row.Key, "/")
	id, err := record.ParseID(name)
	if err != nil {
		return err
	}
	if n, err := strconv.ParseInt(number, 10, 64); err == nil {
		a.link.logN = max(a.link.logN, n)
	}
	ops, err := wire.Operations(bytes)
	if err != nil {
		return err
	}
	d, found := docs[id]
	if !found {
		d = record.NewDoc(id)
		docs[id] = d
	}
	a.link.logged[id] += len(ops)
	for _, op := range ops {
		if _, err := d.Apply(op); err != nil {
			return err
		}
	}
	return nil
}

// keepState stores what the conversation has come to.
func (a *App) keepState() {
	bytes := a.link.phone.State().Append(nil)
	a.put("meta", "exchange", hexOf(bytes))
}

// syncRequest hands out the body of the next request to the server: none before this phone has
// joined, nor once it was emptied. That is no fault: what was said of it has to stay on the screen.
func (a *App) syncRequest(answer *Answer) error {
	if a.link.phone == nil {
		return nil
	}
	limits := exchange.Limits{Push: wire.MaxPush, Pulls: wire.MaxPulls, First: a.firstDocs()}
	request := a.link.phone.Request(a.now.At.WallMS, limits)
	if !a.link.isSending {
		a.link.isSending, a.link.batch = true, a.link.phone.Unsent()
	}
	a.keepState()
	n := len(a.blobs)
	a.blobs = append(a.blobs, request.Append(nil))
	answer.Request = &n
	return nil
}

// firstDocs are fetched before all others: the roster, then who is on screen.
func (a *App) firstDocs() []record.ID {
	var ids []record.ID
	if id, err := record.ParseID(a.me.PracticeDoc); err == nil {
		ids = append(ids, id)
	}
	if parts := strings.Split(a.route, "/"); len(parts) > 2 {
		if id, err := record.ParseID(parts[2]); err == nil {
			ids = append(ids, id)
		}
	}
	return ids
}

// syncResponse takes the server's answer in.
func (a *App) syncResponse(answer *Answer) error {
	if a.link.phone == nil || len(a.now.blobs) != 1 {
		return refuse("malformed", "", say("error.malformed"))
	}
	var args struct {
		Role   sessions.Role `json:"role"`
		Days   int64         `json:"days"`
		Knocks int64         `json:"knocks"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	a.become(args.Role)
	a.hearKnocks(args.Knocks)
	a.link.out = ""
	response, err := a.link.phone.Read(a.now.blobs[0])
	if errors.Is(err, exchange.ErrStale) {
		return nil
	}
	if err != nil {
		return refuse("malformed", "", say("error.answer_unread"))
	}
	wasOverdue := a.isOverdue()
	out, err := a.link.phone.Handle(response, a.now.At.WallMS)
	if errors.Is(err, exchange.ErrStale) {
		return nil
	}
	a.storeOutcome(out)
	if out.IsReset {
		for _, id := range a.link.phone.Docs() {
			a.storeWhole(id)
		}
	}
	a.keepState()
	if err != nil {
		return refuse("malformed", "", say("error.answer_unread"))
	}
	if out.IsForked {
		return a.renew()
	}
	answer.Sync = out.IsMore
	if !out.IsMore {
		a.link.isSending = false
		if a.link.phone.Unsent() == 0 {
			a.link.sentMS = a.now.At.WallMS
			a.put("meta", "sentMS", a.link.sentMS)
		}
	}
	a.met(args.Days, wasOverdue, out.IsMore)
	if out.Problem != "" {
		return refuse(out.Problem, "", say("sync.problem", "code", out.Problem))
	}
	return nil
}

// renew asks for a further identity: two installs shared this one, as after a
// copied or restored phone.
func (a *App) renew() error {
	device, err := a.newDevice()
	if err != nil {
		return err
	}
	a.ask = &Ask{
		Path: "/api/device", Auth: true, Then: "device.renewed",
		Body: map[string]string{"device": device.String()},
	}
	a.renewing = device
	return nil
}

// renewed goes on under the new identity: what had not arrived is written
// again under it.
func (a *App) renewed(answer *Answer) error {
	var r reply
	if err := a.args(&r); err != nil {
		return err
	}
	if a.renewing == 0 || r.trouble() != "" {
		return nil // asked again with the next exchange
	}
	a.storeOutcome(a.link.phone.Renew(a.renewing))
	a.leaveOrphans()
	a.me.Device = a.renewing.String()
	a.renewing = 0
	a.put("meta", "me", a.me)
	a.keepState()
	answer.Sync = true
	return nil
}

// leaveOrphans parts what is under way from records that get new identifiers: the
// other install with this identity may have given theirs to somebody else. A hold
// runs on, in a test of its own, if its person stays.
func (a *App) leaveOrphans() {
	if _, _, isNew := a.routeDoc(); isNew {
		a.route = "/"
	}
	for _, name := range sortedKeys(a.tests) {
		run := a.tests[name]
		d, found := a.docByName(name)
		if !found {
			a.dropRun(name)
		} else if !holds(d, run.Test) {
			run.Test = ""
			a.keepRun(run)
		}
	}
	for _, name := range sortedKeys(a.works) {
		if d, found := a.docByName(name); !found || !holds(d, a.works[name].Session) {
			delete(a.works, name)
			a.drop("run", "work:"+name)
		}
	}
	for _, name := range sortedKeys(a.drafts) {
		if _, found := a.docByName(name); !found {
			delete(a.drafts, name)
			a.drop("run", "draft:"+name)
		}
	}
}

// holds reports whether a document has the record of that name.
func holds(d *record.Doc, name string) bool {
	id, err := record.ParseID(name)
	if err != nil {
		return false
	}
	_, found := d.Record(id)
	return found
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for key := range m {
		keys = append(keys, key)
	}
	sort.Slice(keys, func(i, j int) bool { return keys[i] < keys[j] })
	return keys
}

// storeOutcome writes what an answer changed, in one go.
func (a *App) storeOutcome(out exchange.Outcome) {
	redo := map[record.ID]bool{}
	for _, op := range out.Removed {
		redo[op.Doc] = true
	}
	for _, g := range out.Gone {
		if g.Reason == wire.CodeGone {
			a.said = &Said{Text: say("sync.closed")}
		}
		a.wipe(g.Doc)
		delete(redo, g.Doc)
	}
	applied := map[record.ID][]record.Operation{}
	var order []record.ID
	for _, op := range out.Applied {
		if len(applied[op.Doc]) == 0 {
			order = append(order, op.Doc)
		}
		applied[op.Doc] = append(applied[op.Doc], op)
	}
	for _, id := range order {
		delete(a.cache, id)
		if !redo[id] {
			a.storeOps(id, applied[id])
		}
	}
	for _, id := range sortedIDs(redo) {
		delete(a.cache, id)
		a.storeWhole(id)
	}
}

func sortedIDs[V any](m map[record.ID]V) []record.ID {
	ids := make([]record.ID, 0, len(m))
	for id := range m {
		ids = append(ids, id)
	}
	sort.Slice(ids, func(i, j int) bool { return ids[i].Compare(ids[j]) < 0 })
	return ids
}

// wipe removes a document that this person may no longer see.
func (a *App) wipe(id record.ID) {
	a.drop("snap", id.String())
	a.dropLog(id)
	a.dropRun(id.String())
	delete(a.works, id.String())
	a.drop("run", "work:"+id.String())
	delete(a.drafts, id.String())
	a.drop("run", "draft:"+id.String())
	a.dropViews(id)
	delete(a.cache, id)
}

// dropViews takes away the pictures of a person's screens.
func (a *App) dropViews(id record.ID) {
	from, last := personRoute(id), personRoute(id)+"/~" // after every route that follows
	a.writes = append(a.writes, Write{
		Store: "view", Key: from, Delete: true, Range: []string{from, last},
	})
	a.drop("view", "last")
	if a.me.Doc != id.String() {
		return
	}
	for _, route := range []string{"/", "/work", "/plan", "/log"} {
		a.drop("view", route)
	}
}

// syncState hears from the page's worker how the network is.
func (a *App) syncState(answer *Answer) error {
	var args struct {
		State string `json:"state"`
		Code  string `json:"code"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	switch args.Code {
	case "wipe":
		n := a.link.unsent() + a.link.attention()
		a.empty()
		a.said = &Said{Text: say("out.wiped", "n", n)}
		return nil
	case "signin", "ended", "revoked", "proof":
		a.link.out = args.Code
	}
	if args.State != "sending" {
		a.link.isSending = false
	}
	answer.Sync = args.State == ""
	return nil
}
