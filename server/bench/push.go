package main

import (
	"errors"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// pushedAtOnce are the operations of one push: a few logged sets, and a single correction.
var pushedAtOnce = []int{16, 1}

// pushesPerRound keeps a round under half a second on a slow disk.
const pushesPerRound = 100

const syncMedia = "application/vnd.evenhold.sync"

// pushes measures pushes a second of one phone through the whole handler on loopback, beside
// batched inserts of the same operations through the same driver with the same settings.
func pushes(b *bench) (rows []row, err error) {
	folder := filepath.Join(b.folder, "push")
	if err := os.Mkdir(folder, 0o700); err != nil {
		return nil, err
	}
	h, err := openHouse(folder)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, h.close()) }()
	peer, err := openRaw(folder)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, peer.close()) }()
	p, err := h.enrol(0xbe7c4)
	if err != nil {
		return nil, err
	}
	for _, size := range pushedAtOnce {
		inserts, err := newPen(0xbe7c5, 0, p.pen.wallMS)
		if err != nil {
			return nil, err
		}
		got, err := beside(
			func() (float64, error) { return p.push(pushesPerRound, size) },
			func() (float64, error) {
				batches, err := inserts.batches(pushesPerRound, size)
				if err != nil {
					return 0, err
				}
				return peer.store(batches)
			})
		if err != nil {
			return nil, err
		}
		// Times of one push become pushes a second: the ratio turns over.
		rows = append(rows, figure(fmt.Sprintf("push of %d, of raw inserts", size), 1/got.ratio, "ratio",
			fmt.Sprintf("%.0f pushes/s beside %.0f transactions/s of %d inserts, same driver and pragmas",
				1e9/got.subject, 1e9/got.peer, size)))
	}
	return rows, nil
}

// batches returns count batches of size operations.
func (p *pen) batches(count, size int) ([][]record.Operation, error) {
	all := make([][]record.Operation, count)
	for i := range all {
		ops, err := p.next(size)
		if err != nil {
			return nil, err
		}
		all[i] = ops
	}
	return all, nil
}

// phone is a pen that has joined a practice.
type phone struct {
	server caller
	with   http.Header
	pen    *pen
	seen   uint64 // the news that it has heard
}

// historyMS is how long ago the pen's first carry was: it writes faster than anyone can carry, and
// the server takes nothing from the future.
const historyMS = 60 * 24 * 60 * 60 * 1000

// enrol lets a phone in as the owner.
func (h *house) enrol(device clock.Device) (*phone, error) {
	token, err := h.claim(device)
	if err != nil {
		return nil, err
	}
	return h.newPhone(device, token)
}

// newPhone is a phone that has joined, and has it hear which epoch the server is in.
func (c caller) newPhone(device clock.Device, token string) (*phone, error) {
	p := &phone{server: c, with: http.Header{"Authorization": {"Bearer " + token}}}
	nowMS := time.Now().UnixMilli()
	hello := wire.Request{Schema: wire.Schema, Device: device, Number: 1, WallMS: nowMS}
	_, body, err := c.post("/api/sync", syncMedia, hello.Append(nil), p.with)
	if err != nil {
		return nil, err
	}
	heard, err := wire.ParseResponse(body)
	if err != nil {
		return nil, err
	}
	p.pen, err = newPen(device, heard.Epoch, nowMS-historyMS)
	return p, err
}

// push sends count pushes of size operations, one after another, and returns the nanoseconds of
// one. What the server answered is checked when the clock has stopped.
func (p *phone) push(count, size int) (ns float64, err error) {
	requests := make([][]byte, count)
	for i := range requests {
		q, err := p.pen.push(size)
		if err != nil {
			return 0, err
		}
		requests[i] = q.Append(nil)
	}
	answers := make([][]byte, count)
	start := time.Now()
	for i, request := range requests {
		_, body, err := p.server.post("/api/sync", syncMedia, request, p.with)
		if err != nil {
			return 0, err
		}
		answers[i] = body
	}
	spent := time.Since(start)
	for _, answer := range answers {
		if err := checkTaken(answer); err != nil {
			return 0, err
		}
	}
	last, err := wire.ParseResponse(answers[count-1])
	if err == nil && last.Have != p.pen.seq {
		err = fmt.Errorf("the server has %d of %d operations", last.Have, p.pen.seq)
	}
	return float64(spent) / float64(count), err
}

// checkTaken returns an error for an answer that refuses anything.
func checkTaken(answer []byte) error {
	a, err := wire.ParseResponse(answer)
	switch {
	case err != nil:
		return err
	case a.Problem != "":
		return fmt.Errorf("a push was turned away: %s", a.Problem)
	case len(a.Verdicts) > 0:
		return fmt.Errorf("operation %d was refused: %s", a.Verdicts[0].Seq, a.Verdicts[0].Code)
	}
	return nil
}
