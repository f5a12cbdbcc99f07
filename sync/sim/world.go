// Package sim runs many phones and one server through everything that goes wrong: a network
// that drops, repeats, delays, splits and so reorders, wrong and jumping clocks, crashes that lose
// what was not yet durable, backups of phones and of the server, shared identities, people who
// lose access, phones let go, versions one apart. The state machines and the bytes are the real
// ones. One seed is one run.
//
// After each run the network is made whole and the invariants are checked; see Check.
package sim

import (
	"fmt"

	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// Fault is what goes wrong in a run beside the network, the clocks and crashes. A run has one,
// because together some of them lose data for good: what only a phone held that was set back,
// and a server that was set back too, nobody has.
type Fault int

// The faults.
const (
	NoFault       Fault = iota
	PhonesTwin          // phones are set back to a backup, or copied to a second phone
	ServerBack          // the server is set back to a backup
	PeopleLeave         // people lose access to documents, or a phone is let go and paired again
	VersionsApart       // phones and server are updated one after the other
	faults
)

// world is one run.
type world struct {
	random
	fault  Fault
	nowMS  int64
	server *server
	saved  *server // its backup
	phones []*phone
	mail   []letter
	tokens int64
	twins  map[clock.Device]bool // identities that two installs shared or one forgot
	// durable lists measurements that ever reached a disk, excused those whose only disk was
	// set back on purpose.
	durable, excused map[int64]bool
	counts           Counts
}

// letter is a message on its way.
type letter struct {
	dueMS  int64
	phone  *phone
	life   int  // of the phone when it asked
	isBack bool // from server to phone
	body   []byte
}

// Run plays the run of one seed for a number of steps, makes the network whole, and checks. It
// returns what the run met and the first broken invariant.
func Run(seed uint64, steps int) (Counts, error) {
	w := &world{
		random: random{seed}, nowMS: 1_700_000_000_000, server: newServer(),
		twins: map[clock.Device]bool{}, durable: map[int64]bool{}, excused: map[int64]bool{},
	}
	w.fault = Fault(w.below(int(faults)))
	for i := range 2 + w.below(3) {
		w.addPhone(person(i))
	}
	w.saved = w.server.backup()
	for range steps {
		w.nowMS += int64(w.below(20_000))
		if w.chance(2) {
			w.nowMS += 3_600_000
		}
		w.deliver()
		w.act(pick(&w.random, w.phones))
	}
	if err := w.settle(); err != nil {
		return w.counts, fmt.Errorf("seed %d: %w", seed, err)
	}
	if err := w.check(); err != nil {
		return w.counts, fmt.Errorf("seed %d: %w", seed, err)
	}
	return w.counts, nil
}

func (w *world) newDevice(owner person) clock.Device {
	device := clock.Device(w.next() | 1)
	w.server.enrol(device, owner)
	if w.saved != nil {
		w.saved.enrol(device, owner) // pairing again after a restore is not what is tried here
	}
	return device
}

func (w *world) addPhone(owner person) {
	errorMS := int64(0)
	if w.chance(40) {
		errorMS = int64(w.below(4*86_400_000)) - 2*86_400_000
	}
	w.phones = append(w.phones, w.newPhone(owner, w.newDevice(owner), errorMS))
}

// act lets one phone, or fate, do something.
func (w *world) act(p *phone) {
	switch dice := w.below(100); {
	case dice < 45:
		w.write(p)
	case dice < 85:
		w.post(letter{phone: p, life: p.life, body: p.request(w.nowMS)})
	case dice < 88:
		w.counts.Crashes++
		p.start()
	case dice < 90:
		p.errorMS = 0
		if w.chance(50) {
			p.errorMS = int64(w.below(8*3_600_000)) - 4*3_600_000
		}
	case dice < 93:
		w.shareSome()
	case dice < 97:
		w.strike(p)
	case dice < 98:
		w.counts.Splits++
		p.cutMS = w.nowMS + int64(w.below(6*3_600_000))
	}
}

// strike is where the run's own fault happens.
func (w *world) strike(p *phone) {
	switch w.fault {
	case PhonesTwin:
		w.strikePhone(p)
	case ServerBack:
		if w.chance(50) {
			w.saved = w.server.backup()
			return
		}
		epoch := w.server.epoch
		w.server = w.saved.backup()
		w.server.epoch = epoch + 1
		w.counts.ServerRestores++
	case VersionsApart:
		w.update(p)
	case PeopleLeave:
		if w.chance(15) {
			w.server.devices[p.machine.Author().Device()].isGone = true
			return
		}
		if doc, found := w.someDoc(); found {
			w.server.share(doc, person(1+w.below(3)), w.chance(30))
		}
	}
}

// update brings the next version to a phone or to the server. There is no way back.
func (w *world) update(p *phone) {
	if w.chance(30) {
		w.server.isNewer = true
		return
	}
	p.isNewer = true
	p.start()
}

func (w *world) strikePhone(p *phone) {
	switch {
	case p.backup == nil || w.chance(30):
		p.save()
		kept := p.disk.copy()
		p.backup = &kept
	case w.chance(50) && len(w.phones) < 6:
		w.counts.Twins++
		w.markTwin(p)
		twin := &phone{
			owner: p.owner, errorMS: p.errorMS, disk: p.backup.copy(), durable: w.durable,
			thins: p.thins,
		}
		twin.start()
		w.markTwin(twin)
		w.phones = append(w.phones, twin)
	default:
		w.counts.PhoneRestores++
		w.markTwin(p)
		w.excuse(p)
		p.disk = p.backup.copy()
		p.life++
		p.start()
		w.markTwin(p)
	}
}

// excuse notes the measurements that only this phone may have.
func (w *world) excuse(p *phone) {
	var only []record.Operation
	for _, op := range p.disk.ops {
		only = append(only, op)
	}
	for _, r := range p.machine.Refused() {
		only = append(only, r.Op)
	}
	for _, op := range append(only, p.machine.State().Orphans...) {
		if token, isToken := tokenOf(op); isToken {
			w.excused[token] = true
		}
	}
	for token := range w.onServer() {
		delete(w.excused, token)
	}
}

func (w *world) markTwin(p *phone) { w.twins[p.machine.Author().Device()] = true }

func (w *world) someDoc() (record.ID, bool) {
	docs := sortedDocs(w.server.docs)
	if len(docs) == 0 {
		return record.ID{}, false
	}
	return pick(&w.random, docs), true
}

func (w *world) shareSome() {
	if doc, found := w.someDoc(); found {
		w.server.share(doc, person(1+w.below(3)), true)
	}
}

// post sends a letter through the bad network.
func (w *world) post(l letter) {
	if w.chance(20) || w.nowMS < l.phone.cutMS {
		return // dropped
	}
	copies := 1
	if w.chance(10) {
		copies = 2
	}
	for range copies {
		l.dueMS = w.nowMS + int64(w.below(3000))
		if w.chance(15) {
			l.dueMS += int64(w.below(600_000))
		}
		w.mail = append(w.mail, l)
	}
}

// deliver hands over what is due.
func (w *world) deliver() {
	due := w.mail
	w.mail = nil
	for _, l := range due {
		switch {
		case l.dueMS > w.nowMS:
			w.mail = append(w.mail, l)
		case l.isBack && l.life != l.phone.life: // the connection it came on is gone
		case l.isBack:
			w.hand(l.phone, l.body)
		default:
			back := w.server.answer(l.body, w.nowMS, w.chance(5))
			w.counts.Exchanges++
			w.post(letter{phone: l.phone, life: l.life, isBack: true, body: back})
		}
	}
}

func (w *world) hand(p *phone, body []byte) (isMore bool) {
	out := p.handle(body, w.nowMS)
	w.counts.Wiped += len(out.Gone)
	for _, op := range out.Applied {
		if op.ReadMS != 0 && op.Stamp.Device == p.machine.Author().Device() {
			w.counts.Restamped++
		}
	}
	switch out.Problem {
	case wire.CodeSchema:
		w.counts.Outdated++
	case wire.CodeDevice:
		// What the server had refused and the phone had not heard is written again.
		w.counts.Unpaired++
		w.markTwin(p)
		p.keep(p.machine.Renew(w.newDevice(p.owner)))
		return true
	}
	if out.IsForked {
		w.counts.Renewed++
		p.keep(p.machine.Renew(w.newDevice(p.owner)))
		return true
	}
	return out.IsMore || out.Problem != ""
}

// settle makes the network whole and lets every phone talk until nothing is left to say.
func (w *world) settle() error {
	w.mail = nil
	if w.fault == VersionsApart {
		w.server.isNewer = true
		for _, p := range w.phones {
			p.isNewer = true
		}
	}
	const mostRounds = 400
	for range mostRounds {
		isQuiet := true
		for _, p := range w.phones {
			w.nowMS += 1000
			before := len(w.server.changes)
			isMore := w.hand(p, w.server.answer(p.request(w.nowMS), w.nowMS, false))
			if isMore || p.machine.Unsent() > 0 || len(w.server.changes) != before {
				isQuiet = false
			}
		}
		if isQuiet {
			return nil
		}
	}
	return fmt.Errorf("X0: phones still talk after %d rounds", mostRounds)
}
