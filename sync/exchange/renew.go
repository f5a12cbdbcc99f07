package exchange

import (
	"slices"

	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// Renew gives the phone a new identity after a fork: two installs shared one, or this one lost
// part of its memory. device must be fresh and random. What is not known to have arrived is
// taken out of the documents and kept until the phone has pulled everything: then what the
// server turns out to have is left alone, and the rest is written again under new identifiers.
func (p *Phone) Renew(device clock.Device) Outcome {
	var out Outcome
	p.gather()
	// Not only what is pending: operations past a hole in the numbers must not be lost either.
	orphans := slices.DeleteFunc(p.ownPast(p.acked), p.isListed)
	p.remove(orphans, &out)
	p.orphans = append(p.orphans, orphans...)
	p.pending, p.withdrawn = nil, map[uint64]bool{}
	p.acked, p.ackedChain, p.sent = 0, [32]byte{}, 0
	p.author = record.NewAuthor(device, 0, [32]byte{}, clock.New(device, clock.Stamp{}))
	p.isForked, p.isAwaiting, p.isAgreed = false, false, false
	return out
}

func (p *Phone) isListed(op record.Operation) bool {
	return slices.ContainsFunc(p.refused, func(r Refusal) bool { return r.Op.ID() == op.ID() })
}

// adopt writes again the orphans that the server does not have.
func (p *Phone) adopt(wallMS int64, out *Outcome) {
	if len(p.orphans) == 0 {
		return
	}
	names := map[record.ID]record.ID{}
	renamed := map[clock.Stamp]clock.Stamp{}
	var kept []record.Operation
	for _, orphan := range p.orphans {
		if d, isHeld := p.docs[orphan.Doc]; isHeld {
			if held, found := d.Operation(orphan.ID()); found && held.Equal(orphan) {
				continue
			}
		}
		op := orphan
		if op.Doc == orphan.ID() || op.Record == orphan.ID() {
			names[orphan.ID()] = p.author.NextID()
		}
		op.Doc, op.Record = named(op.Doc, names), named(op.Record, names)
		if _, isHeld := p.docs[op.Doc]; !isHeld && op.Doc == orphan.Doc && p.cursors[op.Doc] == nil {
			// It was wiped, with what this device had written there and the server has.
			p.cursors[op.Doc] = &cursor{isWhole: true}
		}
		op.Value = namedValue(op.Value, names)
		op.Replaces = p.earlier(op, rename(op.Replaces, renamed), wallMS)
		if op.ReadMS == 0 {
			op.ReadMS = op.Stamp.WallMS
		}
		again, err := p.author.Append(p.Open(op.Doc), op, min(op.Stamp.WallMS, wallMS))
		if err != nil {
			kept = append(kept, orphan) // stays safe where it is
			continue
		}
		renamed[orphan.Stamp] = again.Stamp
		out.Applied = append(out.Applied, again)
	}
	p.orphans = kept
	p.gather()
}

func named(id record.ID, names map[record.ID]record.ID) record.ID {
	if now, found := names[id]; found {
		return now
	}
	return id
}

// namedValue follows a reference: a text that is exactly an identifier that changed.
func namedValue(v record.Value, names map[record.ID]record.ID) record.Value {
	text, isText := v.Text()
	if !isText {
		return v
	}
	id, err := record.ParseID(text)
	if err != nil {
		return v // no reference
	}
	return record.Text(named(id, names).String())
}
