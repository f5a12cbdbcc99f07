package sim

import (
	"bytes"
	"fmt"
	"maps"
	"slices"

	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// check holds the invariants:
//
//	I1 replicas with the same operations are equal to the byte;
//	I2 every acknowledged operation reaches every replica that may read it;
//	I3 no measurement made durable on a phone that kept its disk disappears;
//	I4 refused operations are still on the phone that made them;
//	I5 nobody holds a document that they may not read.
func (w *world) check() error {
	for _, doc := range sortedDocs(w.server.docs) {
		d := record.NewDoc(doc)
		// In the opposite order: the result must not know.
		for _, op := range slices.Backward(w.server.docs[doc].ops) {
			if _, err := d.Apply(op); err != nil {
				return fmt.Errorf("I1: server's own operation: %w", err)
			}
		}
		if d.Digest() != w.server.docs[doc].digest {
			return fmt.Errorf("I1: digest of %v went wrong", doc)
		}
		w.counts.Conflicts += len(d.Conflicts())
		if err := w.checkReplicas(d); err != nil {
			return err
		}
	}
	for i, p := range w.phones {
		w.counts.Compacted += p.thinned
		for _, doc := range p.machine.Docs() {
			if !w.server.mayRead(p.owner, doc) {
				return fmt.Errorf("I5: phone %d holds %v", i, doc)
			}
		}
	}
	if err := w.checkRefused(); err != nil {
		return err
	}
	return w.checkTokens()
}

func (w *world) checkReplicas(d *record.Doc) error {
	want := wire.AppendSnapshot(nil, d)
	for i, p := range w.phones {
		if !w.server.mayRead(p.owner, d.ID()) {
			continue
		}
		held, found := p.machine.Doc(d.ID())
		if !found {
			return fmt.Errorf("I2: phone %d lacks %v", i, d.ID())
		}
		if p.thins {
			whole := p.onDisk(d.ID())
			if err := sameView(held, whole); err != nil && w.fault != ServerBack {
				return fmt.Errorf("I1: phone %d, compacted: %w", i, err)
			}
			held = whole
		}
		if w.fault == ServerBack {
			held = held.Without(w.refusedIDs())
		}
		if !bytes.Equal(wire.AppendSnapshot(nil, held), want) {
			return fmt.Errorf("I2: phone %d holds %d operations of %v, server %d",
				i, held.Len(), d.ID(), d.Len())
		}
	}
	return nil
}

// sameView compares what a compacted replica shows with what the whole one shows.
func sameView(compacted, whole *record.Doc) error {
	if compacted.Digest() != whole.Digest() {
		return fmt.Errorf("digest of %v differs", whole.ID())
	}
	for _, kind := range []string{"set", lockedFor} {
		want, got := whole.Records(kind), compacted.Records(kind)
		if len(got) != len(want) {
			return fmt.Errorf("%d records of kind %s, want %d", len(got), kind, len(want))
		}
		for i, r := range want {
			if got[i].ID() != r.ID() || got[i].Created() != r.Created() {
				return fmt.Errorf("record %v in place of %v", got[i].ID(), r.ID())
			}
			for field, b := range r.Fields() {
				a := got[i].Register(field)
				if !a.Winner().Equal(b.Winner()) || !slices.Equal(a.Heads(), b.Heads()) {
					return fmt.Errorf("%s of %v: %v, want %v", field, r.ID(), a.Heads(), b.Heads())
				}
			}
		}
	}
	return nil
}

// refusedIDs names the operations in any phone's list of refusals. A server that was set back
// may refuse what it had taken in and passed on: others keep it then.
func (w *world) refusedIDs() map[record.ID]bool {
	listed := map[record.ID]bool{}
	for _, p := range w.phones {
		for _, r := range p.machine.Refused() {
			listed[r.Op.ID()] = true
		}
	}
	return listed
}

func (w *world) checkRefused() error {
	listed := w.refusedIDs()
	for device, e := range w.server.devices {
		w.counts.Refused += len(e.refused)
		for _, r := range e.refused {
			if !listed[r.Op.ID()] && !w.twins[device] {
				return fmt.Errorf("I4: refusal of %v (%s) was lost", r.Op.ID(), r.Code)
			}
		}
	}
	return nil
}

// checkTokens looks for every measurement that ever became durable: on the server, in a list
// of refusals, or excused because the disk it was on was set back or wiped on purpose.
func (w *world) checkTokens() error {
	found := w.onServer()
	for _, p := range w.phones {
		for _, r := range p.machine.Refused() {
			if token, isToken := tokenOf(r.Op); isToken {
				found[token] = true
			}
		}
	}
	for token := int64(1); token <= w.tokens; token++ {
		if w.durable[token] && !found[token] && !w.excused[token] {
			return fmt.Errorf("I3: measurement %d disappeared", token)
		}
	}
	return nil
}

// onServer returns the measurements that the server holds.
func (w *world) onServer() map[int64]bool {
	held := map[int64]bool{}
	for _, d := range w.server.docs {
		for _, op := range d.ops {
			if token, isToken := tokenOf(op); isToken {
				held[token] = true
			}
		}
	}
	return held
}

func tokenOf(op record.Operation) (token int64, isToken bool) {
	token, isToken = op.Value.Int()
	return token, isToken && op.Field == tokenField
}

func sortedDocs(docs map[record.ID]*shelf) []record.ID {
	return slices.SortedFunc(maps.Keys(docs), record.ID.Compare)
}
