package main

import (
	"errors"
	"flag"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"evenhold/server/store"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// faults is how many power cuts and kills are tried; -server.faults 200 is the long run.
var faults = flag.Int("server.faults", 12, "power cuts and kills to try")

// attempt makes one exchange with a server that may fail at any moment.
func (p *phone) attempt() error {
	p.t.Helper()
	signed, err := p.tryToken()
	if err != nil {
		return err
	}
	q := p.Request(p.nowMS, exchange.Limits{Push: wire.MaxPush, Pulls: wire.MaxPulls})
	answer, err := p.try("/api/sync", "application/vnd.evenhold.sync", signed, q.Append(nil))
	if err != nil {
		return err
	}
	resp, err := p.Read(answer)
	if err != nil {
		p.t.Fatal(err)
	}
	if out, err := p.Handle(resp, p.nowMS); err != nil || out.Problem != "" {
		p.t.Fatalf("the exchange: %+v, %v", out, err)
	}
	return nil
}

// notes adds work to a client's record, enough of it to fill the log now and then.
func (p *phone) notes(doc record.ID, count int) {
	for range count {
		p.write(doc, strings.Repeat("a long note ", 20))
	}
}

// claimed joins as the owner of a new practice and begins a record.
func claimed(t *testing.T, r *running) (*phone, record.ID) {
	t.Helper()
	link, err := os.ReadFile(filepath.Join(r.data, linkName))
	if err != nil {
		t.Fatal(err)
	}
	owner := join(t, r, string(link), 0x1111, nowMS())
	alex := owner.write(record.ID{}, "Alex Example")
	owner.sync()
	return owner, alex
}

// ack is how many operations the server had said it keeps when the journal had got so far.
type ack struct {
	at    int64
	count int
}

// recorded is a run of a real server: what it asked of the disk, and what it promised when.
type recorded struct {
	changes []change
	acks    []ack
	doc     record.ID
	key     []byte
}

// recordRun lets a server take pushes up to its orderly end.
func recordRun(t *testing.T, pushes int) recorded {
	t.Helper()
	folder := t.TempDir()
	data, journal := filepath.Join(folder, "data"), filepath.Join(folder, "journal")
	p := launch(t, data, journal)
	owner, doc := claimed(t, p.running)
	r := recorded{doc: doc, acks: []ack{{p.written(), 1}}}
	for push := range pushes {
		owner.notes(doc, 1+push*7%90)
		owner.sync()
		d, _ := owner.Doc(doc)
		r.acks = append(r.acks, ack{p.written(), d.Len()})
	}
	if err := p.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := p.Wait(); err != nil {
		t.Fatalf("%v\n%s", err, p.err.String())
	}
	r.changes = readJournal(t, journal)
	var err error
	if r.key, err = os.ReadFile(filepath.Join(data, keyName)); err != nil {
		t.Fatal(err)
	}
	return r
}

// promised is how many operations were acknowledged before the cut.
func (r recorded) promised(at int64) (count int) {
	for _, a := range r.acks {
		if a.at <= at {
			count = a.count
		}
	}
	return count
}

// cut builds the folder of a power cut and returns how many operations it holds.
func (r recorded) cut(t *testing.T, at int64, deaf string, dice *rand.Rand) (held, unsure int) {
	t.Helper()
	folder := t.TempDir()
	unsure = play(r.changes, at, deaf).leave(t, folder, dice)
	if err := os.WriteFile(filepath.Join(folder, keyName), r.key, 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := store.Open(filepath.Join(folder, storeName))
	if err != nil {
		if deaf != "" {
			return 0, unsure
		}
		t.Fatalf("cut at %d: it does not open: %v", at, err)
	}
	if d, err := s.Document(t.Context(), r.doc); err == nil {
		held = d.Len()
	} else if !errors.Is(err, store.ErrNotFound) {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if code, text := told(t, folder, "check"); code != exitOK {
		t.Fatalf("cut at %d: check: %d %s", at, code, text)
	}
	return held, unsure
}

// TestPowerCut_NothingAcknowledgedIsMissing cuts the power of a real server's run at random
// moments. Half of the cuts leave what was written through and nothing else; the other half also
// some of the sectors that were not, in any order. That the cuts do cut is shown by the same run
// on a disk that lies: there acknowledged operations go missing.
func TestPowerCut_NothingAcknowledgedIsMissing(t *testing.T) {
	r := recordRun(t, 60)
	last := r.changes[len(r.changes)-1].end
	lost, unsure, checkpoints := 0, 0, 0
	for _, c := range r.changes {
		if c.call == callSync && strings.HasSuffix(c.path, storeName) {
			checkpoints++
		}
	}
	for seed := range *faults {
		dice := rand.New(rand.NewPCG(uint64(seed), 7))
		at := dice.Int64N(last + 1)
		harsh := dice
		if seed%2 == 0 {
			harsh = nil
		}
		held, n := r.cut(t, at, "", harsh)
		unsure += n
		if want := r.promised(at); held < want {
			t.Errorf("seed %d, cut at %d of %d: %d operations are there, %d were acknowledged", seed,
				at, last, held, want)
		}
		if held, _ := r.cut(t, at, "-wal", nil); held < r.promised(at) {
			lost++
		}
	}
	t.Logf("%d cuts in %d bytes of journal, %d pushes, %d checkpoints; %d changes were not sure;"+
		" a disk that lies loses work in %d cuts", *faults, last, len(r.acks), checkpoints, unsure, lost)
	if lost == 0 || unsure == 0 || checkpoints < 2 {
		t.Error("the cuts cut nothing")
	}
}

// TestPowerCut_AfterAFault: what a server had written but not yet written through, as it was killed
// or its disk failed, can be read by the next, which says that it has it. From then on it must
// survive a power cut too.
func TestPowerCut_AfterAFault(t *testing.T) {
	for _, fault := range []syscall.Errno{ends, loses, syscall.EIO} {
		folder := t.TempDir()
		data, journal := filepath.Join(folder, "data"), filepath.Join(folder, "journal")
		p := launch(t, data, journal)
		owner, doc := claimed(t, p.running)
		signed := owner.token()
		owner.notes(doc, 3)
		q := owner.Request(owner.nowMS, exchange.Limits{Push: wire.MaxPush, Pulls: wire.MaxPulls})
		p.fail(callSync, 1, fault, false)
		_, err := owner.try("/api/sync", "application/vnd.evenhold.sync", signed, q.Append(nil))
		if err == nil {
			t.Fatal("it acknowledged what it had not written through")
		}
		if fault == ends || fault == loses {
			_ = p.Wait() // it ended as it was told to
			p = launch(t, data, journal)
			owner.server = p.running
		} else {
			p = again(t, p, owner)
		}
		owner.sync()
		r := recorded{changes: readJournal(t, journal), acks: []ack{{0, 4}}, doc: doc}
		p.kill()
		if r.key, err = os.ReadFile(filepath.Join(data, keyName)); err != nil {
			t.Fatal(err)
		}
		if held, _ := r.cut(t, r.changes[len(r.changes)-1].end, "", nil); held < 4 {
			t.Errorf("%d operations are there, 4 were acknowledged", held)
		}
	}
}

// TestKill_NothingAcknowledgedIsMissing kills a server that takes pushes at random moments, over
// and over, and holds what it then has against what it had acknowledged.
func TestKill_NothingAcknowledgedIsMissing(t *testing.T) {
	folder := t.TempDir()
	data, journal := filepath.Join(folder, "data"), filepath.Join(folder, "journal")
	p := launch(t, data, journal)
	owner, doc := claimed(t, p.running)
	cutOff := 0
	for seed := range *faults {
		dice := rand.New(rand.NewPCG(uint64(seed), 8))
		wait := time.Duration(dice.IntN(120)) * time.Millisecond
		killed := time.AfterFunc(wait, func() { _ = p.Process.Kill() })
		for {
			owner.notes(doc, 1+dice.IntN(30))
			if err := owner.attempt(); err != nil {
				break
			}
		}
		killed.Stop()
		p.kill()
		if owner.Unsent() > 0 {
			cutOff++
		}
		must(t, data, "check")
		p = launch(t, data, journal)
		owner.server = p.running
	}
	owner.sync()
	again := join(t, p.running, must(t, data, "invite", "--role", "owner"), 0x4444, owner.nowMS)
	again.sync()
	if again.digest(doc) != owner.digest(doc) || owner.renewed != 0 {
		t.Errorf("a new phone has %s, the one that wrote %s and took %d new identities",
			again.digest(doc), owner.digest(doc), owner.renewed)
	}
	if cutOff == 0 {
		t.Error("no kill met a push")
	}
}

// TestFault_EachCall has the first, second and so on call of each kind fail while a push is taken
// in: the phone is told, or the push stands; the server goes on, or ends and starts again; nothing
// is lost.
func TestFault_EachCall(t *testing.T) {
	folder := t.TempDir()
	data, journal := filepath.Join(folder, "data"), filepath.Join(folder, "journal")
	p := launch(t, data, journal)
	owner, doc := claimed(t, p.running)
	met := map[string]int{}
	for _, tt := range []struct {
		name  string
		call  int
		fault syscall.Errno
	}{
		{"write", callWrite, syscall.EIO}, {"write, full", callWrite, syscall.ENOSPC},
		{"sync", callSync, syscall.EIO}, {"sync, full", callSync, syscall.ENOSPC},
		{"read", callRead, syscall.EIO}, {"open", callOpen, syscall.EIO},
		{"truncate", callTruncate, syscall.EIO},
	} {
		for n := 1; n <= 2+*faults/2; n++ {
			owner.notes(doc, 1)
			p.fail(tt.call, n, tt.fault, false)
			err := owner.attempt()
			hits := p.heal()
			met[tt.name] += hits
			if err == nil && owner.Unsent() != 0 {
				t.Errorf("%s %d: accepted, but not acknowledged", tt.name, n)
			}
			if isUnsafe := hits > 0 && tt.call == callSync; isUnsafe {
				if err == nil {
					t.Errorf("%s %d: acknowledged though it was not written through", tt.name, n)
				}
				p = again(t, p, owner)
			}
			owner.sync()
			if hits == 0 {
				break
			}
		}
		must(t, data, "check")
	}
	t.Logf("calls that failed: %v", met)
	if met["write"] < 3 || met["sync"] < 1 || met["write, full"] < 3 {
		t.Error("too few calls were there to fail")
	}
	last := join(t, p.running, must(t, data, "invite", "--role", "owner"), 0x4444, owner.nowMS)
	last.sync()
	if last.digest(doc) != owner.digest(doc) || owner.renewed != 0 {
		t.Errorf("a new phone has %s, the one that wrote %s", last.digest(doc), owner.digest(doc))
	}
}

// again waits for a server to end because its disk did not write through, and starts the next.
func again(t *testing.T, p *program, phones ...*phone) *program {
	t.Helper()
	ended := make(chan error, 1)
	go func() { ended <- p.Wait() }()
	select {
	case <-ended:
	case <-time.After(45 * time.Second):
		t.Fatal("the server goes on though its disk does not write through")
	}
	if code := p.ProcessState.ExitCode(); code != exitFailure ||
		!strings.Contains(p.err.String(), store.ErrUnsafe.Error()) {
		t.Errorf("it ended with %d:\n%s", code, p.err.String())
	}
	next := launch(t, p.data, p.journal)
	for _, one := range phones {
		one.server = next.running
	}
	return next
}

// TestFull_RealDisk fills a small disk: pushes are refused with 507 while there is still room to
// sign in and to read; when there is room again they go through without a restart.
func TestFull_RealDisk(t *testing.T) {
	folder := t.TempDir()
	data := filepath.Join(folder, "data")
	if err := os.Mkdir(data, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mount("tmpfs", data, "tmpfs", 0, "size=24m"); err != nil {
		t.Skipf("no small disk can be mounted (%v): store.TestFull fills a file up to a bound"+
			" instead, and TestFault_EachCall has writes fail as on a full disk", err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(data, syscall.MNT_DETACH) })
	ballast := filepath.Join(data, "ballast")
	if err := os.WriteFile(ballast, make([]byte, 8<<20), 0o600); err != nil {
		t.Fatal(err)
	}
	p := launch(t, data, filepath.Join(folder, "journal"))
	owner, doc := claimed(t, p.running)
	var err error
	for push := 0; err == nil && push < 500; push++ {
		owner.notes(doc, 60)
		err = owner.attempt()
	}
	var full refused
	if !errors.As(err, &full) || full.status != http.StatusInsufficientStorage {
		t.Fatalf("on a full disk: %v", err)
	}
	if got := get(t, p.url()+"/livez"); got != http.StatusOK {
		t.Errorf("livez: %d", got)
	}
	if got := get(t, p.url()+"/readyz"); got != http.StatusInsufficientStorage {
		t.Errorf("readyz: %d", got)
	}
	reader := &phone{t: t, server: p.running, cookie: owner.cookie, nowMS: owner.nowMS,
		Phone: exchange.NewPhone(exchange.State{Device: 0x1111}, nil)}
	signed, err := reader.tryToken()
	if err != nil {
		t.Fatalf("signing in on a full disk: %v", err)
	}
	owner.cookie = reader.cookie
	q := reader.Request(owner.nowMS, exchange.Limits{Pulls: wire.MaxPulls})
	if _, err := reader.try("/api/sync", "application/vnd.evenhold.sync", signed,
		q.Append(nil)); err != nil {
		t.Errorf("reading on a full disk: %v", err)
	}
	must(t, data, "check")
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	owner.sync()
	if owner.Unsent() != 0 {
		t.Error("with room again it is not taken in")
	}
	must(t, data, "check")
}
