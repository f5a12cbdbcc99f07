package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// What the README says that a server needs, in bytes of memory; and how many times the slowest
// hundredth of raw inserts the slowest hundredth of pushes may take.
const (
	restLimit = 64 << 20
	busyLimit = 128 << 20
	slowLimit = 10
)

// A busy day of a large practice in half a minute: 50 phones at work together, each of which sends
// a logged set every second; in all more than its 200 clients log on a day.
const (
	busyPhones   = 50
	busyOps      = 16
	busySeconds  = 4 // of each round
	builtIssuer  = "http://localhost:8420"
	staffDevices = clock.Device(0xb5e7_2000)

	// busyWait is shorter than a phone's: the wait counts as the server's.
	busyWait = 50 * time.Millisecond
)

// busyServer measures the started program's memory, and how long pushes take while many phones
// push, beside inserts of the same operations at the same pace into SQLite alone.
func busyServer(b *bench) (rows []row, err error) {
	binary, err := b.program()
	if err != nil {
		return nil, err
	}
	data := filepath.Join(b.folder, "busy")
	tokens, err := employ(data, busyPhones)
	if err != nil {
		return nil, err
	}
	s, err := serveFolder(binary, data)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, s.stop()) }()
	rest, _, err := s.resident()
	if err != nil {
		return nil, err
	}
	phones, err := s.phones(tokens)
	if err != nil {
		return nil, err
	}
	peer, err := openRaw(b.folder)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, peer.close()) }()
	pushed, inserted, err := inTurn(phones, peer)
	if err != nil {
		return nil, err
	}
	busy, most, err := s.resident()
	if err != nil {
		return nil, err
	}
	slow, slowPeer := hundredth(pushed), hundredth(inserted)
	return []row{
		limited("server, memory at rest", rest, "B", restLimit, "resident, of the started program"),
		limited("server, memory after a busy day", most, "B", busyLimit,
			fmt.Sprintf("the most; %s B at the end, after %d pushes of %d phones", plain(busy),
				len(pushed), busyPhones)),
		limited("server, slowest hundredth of pushes, of raw inserts", slow/slowPeer, "ratio", slowLimit,
			fmt.Sprintf("%s ms beside %s ms of %d inserts, same driver and pragmas; medians %s and %s ms",
				plain(slow/1e6), plain(slowPeer/1e6), busyOps, plain(median(pushed)/1e6),
				plain(median(inserted)/1e6))),
	}, nil
}

// employ makes a practice in folder with an owner and so many coaches in all, and returns a token
// for the phone of each.
func employ(folder string, count int) (tokens []string, err error) {
	if err := os.Mkdir(folder, 0o700); err != nil {
		return nil, err
	}
	kept, err := store.Open(filepath.Join(folder, "practice.db"))
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, kept.Close()) }()
	key, err := access.OpenKey(filepath.Join(folder, "key"))
	if err != nil {
		return nil, err
	}
	desk := access.NewDesk(kept, key, time.Now)
	code, _, err := desk.SetUp(context.Background())
	var owner store.Member
	for i := range count {
		if i > 0 {
			guest := access.Guest{Role: sessions.Coach, Name: fmt.Sprint("Bench Coach ", i)}
			code, _, err = desk.Invite(store.Member{Person: owner.Person}, guest)
		}
		if err != nil {
			return nil, err
		}
		member, token, err := letIn(desk, key, code, staffDevices+clock.Device(i))
		if err != nil {
			return nil, err
		}
		if i == 0 {
			owner = member
		}
		tokens = append(tokens, token)
	}
	return tokens, nil
}

// letIn has a phone join and makes its token, as the server does when one signs in.
func letIn(
	desk *access.Desk, key access.Key, code access.Code, device clock.Device,
) (store.Member, string, error) {
	_, hash := access.NewSecret()
	m, err := desk.Join("", code.String(), store.Joining{
		Device: device, SecretHash: hash, Name: "Bench Owner", Practice: "Bench Practice",
	})
	if err != nil {
		return m, "", err
	}
	token, err := access.NewTokens(key, builtIssuer, time.Now).Access(m)
	return m, token, err
}

func (s *served) phones(tokens []string) (all []*phone, err error) {
	for i, token := range tokens {
		p, err := s.newPhone(staffDevices+clock.Device(i), token)
		if err != nil {
			return nil, err
		}
		all = append(all, p)
	}
	return all, nil
}

// inTurn has the phones push and the peer insert in turn, so that what else the machine does meets
// both, and returns how many nanoseconds each took. The first round is not counted.
func inTurn(phones []*phone, peer *raw) (pushed, inserted []float64, err error) {
	inserts, err := newPen(staffDevices-1, 0, time.Now().UnixMilli()-historyMS)
	if err != nil {
		return nil, nil, err
	}
	for round := range rounds + 1 {
		p, err := pushTogether(phones)
		if err != nil {
			return nil, nil, err
		}
		batches, err := inserts.batches(busySeconds*len(phones), busyOps)
		if err != nil {
			return nil, nil, err
		}
		i, err := peer.storePaced(batches, time.Second/time.Duration(len(phones)))
		if err != nil {
			return nil, nil, err
		}
		if round > 0 {
			pushed, inserted = append(pushed, p...), append(inserted, i...)
		}
	}
	return pushed, inserted, nil
}

// pushTogether has each phone push once a second, spread evenly over it.
func pushTogether(phones []*phone) (ns []float64, err error) {
	var all sync.WaitGroup
	var mu sync.Mutex
	began := time.Now()
	for i, p := range phones {
		all.Go(func() {
			for second := range busySeconds {
				due := began.Add(time.Duration(second)*time.Second +
					time.Duration(i)*time.Second/time.Duration(len(phones)))
				time.Sleep(time.Until(due))
				failure := p.pushOne(busyOps)
				mu.Lock()
				// From when it was due: a queue counts against whoever makes it.
				ns = append(ns, float64(time.Since(due)))
				err = cmp.Or(err, failure) // the first says what the others would
				mu.Unlock()
				if failure != nil {
					return
				}
			}
		})
	}
	all.Wait()
	return ns, err
}

// pushOne sends one push, again where the server says that it is busy, and returns an error if
// anything of it is refused.
func (p *phone) pushOne(size int) error {
	q, err := p.pen.push(size)
	if err != nil {
		return err
	}
	q.Seen = p.seen
	response, body, err := p.server.post("/api/sync", syncMedia, q.Append(nil), p.with)
	for response != nil && response.StatusCode == http.StatusServiceUnavailable {
		time.Sleep(busyWait)
		response, body, err = p.server.post("/api/sync", syncMedia, q.Append(nil), p.with)
	}
	if err != nil {
		return err
	}
	answer, err := wire.ParseResponse(body)
	if err != nil {
		return err
	}
	p.seen = answer.Seen
	return checkTaken(body)
}

// storePaced is store with a batch every so often, and returns the nanoseconds of each.
func (r *raw) storePaced(batches [][]record.Operation, every time.Duration) ([]float64, error) {
	var ns []float64
	began := time.Now()
	for i, batch := range batches {
		due := began.Add(time.Duration(i) * every)
		time.Sleep(time.Until(due))
		if _, err := r.store([][]record.Operation{batch}); err != nil {
			return nil, err
		}
		ns = append(ns, float64(time.Since(due)))
	}
	return ns, nil
}

// hundredth returns the value that one in a hundred exceeds.
func hundredth(values []float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	return sorted[len(sorted)*99/100]
}
