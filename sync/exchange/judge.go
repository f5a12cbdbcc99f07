package exchange

import (
	"errors"

	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// Rules says what a pusher may write.
type Rules interface {
	// May returns "" if the operation may be taken in, else a code of the closed list. It is
	// asked in order of the operations' numbers, once for each that is otherwise sound.
	May(op record.Operation) string
}

// DeviceState is what a server keeps of one device.
type DeviceState struct {
	Device clock.Device
	// Epoch is the server's. What was pushed to another epoch is not judged: a request that
	// was long on its way could otherwise have verdicts that the phone never asks for. 0 leaves
	// the epoch out of it, for a server that cannot be set back.
	Epoch uint64
	Have  uint64      // the number of the last operation judged, accepted or not
	Chain [32]byte    // the chain value after it
	Last  clock.Stamp // of the last operation accepted
	// LatestMS is the latest wall reading of a stamp that the server has accepted, from whichever
	// device, in milliseconds since 1970. It lies ahead where the server's clock was set back.
	LatestMS int64
	// Refused holds the refusals past the request's PushFrom, in order of Seq. They are told
	// again until the device says that it heard them: an answer may have been lost.
	Refused []wire.Verdict
}

// Refusal is an operation that was not taken in, and why.
type Refusal struct {
	Op   record.Operation
	Code string // of the closed list
}

// Judgement is what becomes of a push. It and the new state are to be stored together.
type Judgement struct {
	Accepted []record.Operation // newly accepted, in order of Seq
	Refused  []Refusal          // newly refused, in order of Seq
	State    DeviceState        // Refused holds all that the answer must tell
	Problem  string             // "" or a code: nothing was judged
	IsKnown  bool               // the request said truly how far the device had been judged
	// IsUnclear says that the request told by a proof alone what it takes the server to have, and
	// that this is not so. Nothing was judged, and there is no news: it is to be asked in full.
	IsUnclear bool
}

// Judge decides on the operations that q pushes. An operation judged before is skipped if the
// hash chain agrees, so a repeat changes nothing; if the chain differs nothing is judged and
// the Problem is "forked". A refused operation uses up its number and harms no other. wallMS
// is the server's own reading in milliseconds since 1970.
func Judge(q wire.Request, dev DeviceState, rules Rules, wallMS int64) Judgement {
	j := Judgement{State: dev, IsKnown: q.Knows(dev.Epoch, dev.Have, dev.Chain)}
	if q.IsBrief && !j.IsKnown && q.Device == dev.Device {
		j.IsUnclear = true
		return j
	}
	fresh, problem := unjudged(q, dev)
	if problem != "" {
		j.Problem = problem
		return j
	}
	withdrawn := make(map[uint64]bool, len(q.Withdrawn))
	for _, seq := range q.Withdrawn {
		withdrawn[seq] = true
	}
	// The caller's list must not be written to.
	j.State.Refused = append([]wire.Verdict(nil), dev.Refused...)
	for _, op := range fresh {
		j.State.Have = op.Seq
		j.State.Chain = record.NextChain(j.State.Chain, op)
		code := wire.CodeWithdrawn
		if !withdrawn[op.Seq] {
			code = judgeOne(op, j.State, rules, wallMS)
		}
		if code == "" {
			j.State.Last = op.Stamp
			j.Accepted = append(j.Accepted, op)
			continue
		}
		j.Refused = append(j.Refused, Refusal{Op: op, Code: code})
		j.State.Refused = append(j.State.Refused, wire.Verdict{Seq: op.Seq, Code: code})
	}
	return j
}

// unjudged returns the part of the push past dev.Have, or the problem with the whole.
func unjudged(q wire.Request, dev DeviceState) ([]record.Operation, string) {
	if q.Device != dev.Device {
		return nil, wire.CodeDevice
	}
	if dev.Epoch != 0 && q.Epoch != 0 && q.Epoch != dev.Epoch {
		return nil, ""
	}
	chain, at := q.Chain, q.PushFrom
	if q.IsBrief {
		chain = dev.Chain // as the proof says
	}
	if at > dev.Have {
		return nil, wire.CodeGap
	}
	from := len(q.Push)
	for i, op := range q.Push {
		if op.Stamp.Device != q.Device || op.Seq != q.PushFrom+uint64(i)+1 {
			return nil, wire.CodeDevice
		}
		if at == dev.Have {
			from = i
			break
		}
		chain, at = record.NextChain(chain, op), op.Seq
	}
	// A push that ends before Have proves nothing: a late repeat, or a phone that forgot. The
	// answer's Have tells such a phone.
	if at == dev.Have && chain != dev.Chain {
		return nil, wire.CodeForked
	}
	fresh := q.Push[from:]
	for i, op := range fresh {
		if op.Stamp.Device != q.Device || op.Seq != dev.Have+uint64(i)+1 {
			return nil, wire.CodeDevice
		}
	}
	return fresh, ""
}

func judgeOne(op record.Operation, dev DeviceState, rules Rules, wallMS int64) string {
	// Whoever builds on what was accepted must stamp after it, so that much is never too late.
	lastMS := max(wallMS+clock.MaxAheadMS, dev.LatestMS, dev.Last.WallMS)
	switch err := op.Check(); {
	case errors.Is(err, record.ErrTooLong):
		return wire.CodeTooLong
	case errors.Is(err, record.ErrTooMany):
		return wire.CodeTooMany
	case err != nil || op.Stamp.Compare(dev.Last) <= 0:
		// A device that stamps backwards has no order in which to show what it wrote.
		return wire.CodeMalformed
	case op.Stamp.WallMS > lastMS:
		return wire.CodeFuture
	}
	return rules.May(op)
}

// Answer begins the response to q: everything but news and pages. epoch is the server's and
// wallMS its own reading.
func Answer(q wire.Request, j Judgement, epoch uint64, wallMS int64) wire.Response {
	return wire.Response{
		Schema: wire.Schema, Epoch: epoch, Number: q.Number, WallMS: wallMS,
		Have: j.State.Have, HaveChain: j.State.Chain, Verdicts: j.State.Refused,
		Problem: j.Problem, IsKnown: j.IsKnown, IsUnclear: j.IsUnclear,
	}
}
