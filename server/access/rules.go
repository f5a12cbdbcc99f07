package access

import (
	"evenhold/internal/sessions"
	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// Rules returns the rules by which the pushes of p are judged.
func Rules(p store.Person) func(*store.Sheet) exchange.Rules {
	return func(sheet *store.Sheet) exchange.Rules {
		return &rules{
			person: p, sheet: sheet, practice: sheet.PracticeDoc(),
			reads: map[record.ID]bool{}, docs: map[record.ID]bool{}, kinds: map[[2]record.ID]string{},
			owners: map[clock.Device]string{},
		}
	}
}

// rules judge one push. What the push itself begins counts from then on.
type rules struct {
	person   store.Person
	sheet    *store.Sheet
	practice record.ID
	reads    map[record.ID]bool // looked up so far
	docs     map[record.ID]bool // known to exist
	kinds    map[[2]record.ID]string
	owners   map[clock.Device]string // looked up so far
}

// May returns "" if the person may write op, else the code of the refusal.
func (r *rules) May(op record.Operation) string {
	// First of all, so that a refusal tells nothing of documents out of sight.
	if !r.canRead(op.Doc) {
		return wire.CodeForbidden
	}
	if code := r.mayReach(op); code != "" {
		return code
	}
	at := [2]record.ID{op.Doc, op.Record}
	kind, found := r.kinds[at]
	if !found {
		kind = r.sheet.Kind(op.Doc, op.Record)
	}
	if kind != "" && kind != op.Kind {
		return wire.CodeKind
	}
	own := r.ownerOf(op.Record.Device) == r.person.ID
	if !sessions.MayWrite(r.person.Role, op.Kind, op.Field, own) || r.isForged(op) {
		return wire.CodeForbidden
	}
	r.docs[op.Doc] = true
	r.kinds[at] = op.Kind
	return ""
}

// mayReach says whether op may go into its document at all. A client record is
// begun by whatever operation of it comes first: after the server was set back to
// a backup that need not be the one that began it.
func (r *rules) mayReach(op record.Operation) string {
	if !sessions.BelongsIn(op.Kind, op.Doc == r.practice) {
		return wire.CodeKind
	}
	if op.Doc == r.practice {
		if r.person.Role != sessions.Owner && r.person.Role != sessions.Coach {
			return wire.CodeForbidden
		}
		return ""
	}
	if r.sheet.IsErased(op.Doc) {
		return wire.CodeErased
	}
	if r.docs[op.Doc] || op.Doc == r.person.Doc || r.sheet.HasDoc(op.Doc) {
		return ""
	}
	if r.ownerOf(op.Doc.Device) == "" {
		return wire.CodeUnknownDoc
	}
	if !sessions.MayOpen(r.person.Role) {
		return wire.CodeForbidden
	}
	return ""
}

// canRead reports whether the person sees a document: who does not writes nothing there either.
func (r *rules) canRead(doc record.ID) bool {
	may, found := r.reads[doc]
	if !found {
		may = r.sheet.CanRead(r.person.ID, doc)
		r.reads[doc] = may
	}
	return may
}

// ownerOf returns the person of a device, "" for one that was never let in.
func (r *rules) ownerOf(device clock.Device) string {
	owner, found := r.owners[device]
	if !found {
		owner = r.sheet.PersonOf(device)
		r.owners[device] = owner
	}
	return owner
}

// isForged reports whether op says of its author what the practice does not say.
func (r *rules) isForged(op record.Operation) bool {
	if op.Kind != sessions.KindAuthor {
		return false
	}
	said, _ := op.Value.Text()
	return op.Field == "name" && said != r.person.Name ||
		op.Field == "role" && said != string(r.person.Role)
}
