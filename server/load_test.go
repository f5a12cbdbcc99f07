package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// crowd is how many phones come back after a restart; -server.phones 200 is the long run.
var crowd = flag.Int("server.phones", 24, "phones that come back after a restart")

// slowSenders is how many connections send next to nothing.
const slowSenders = 500

// TestServer_SlowSenders: connections that begin a header or a body and send no more are gone after
// their time, leave no goroutine and no memory behind, and meanwhile others are served. The waits
// are shortened; that they are set is what the program's own server is looked at for.
func TestServer_SlowSenders(t *testing.T) {
	server := newServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, err := io.Copy(io.Discard, r.Body); err != nil {
			w.WriteHeader(http.StatusBadRequest)
		}
	}), slog.New(slog.DiscardHandler))
	if server.ReadHeaderTimeout != headerWait || server.ReadTimeout != bodyWait ||
		server.IdleTimeout != idleWait || server.MaxHeaderBytes != headerBytes {
		t.Errorf("the server bounds no connection: %+v", server)
	}
	server.ReadHeaderTimeout, server.ReadTimeout = 4*time.Second, 4*time.Second
	var letIn atomic.Int64
	server.ConnState = func(_ net.Conn, state http.ConnState) {
		if state == http.StateNew {
			letIn.Add(1)
		}
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	stopped := make(chan error, 1)
	go func() { stopped <- server.Serve(listener) }()
	address := listener.Addr().String()
	before, heapBefore := runtime.NumGoroutine(), heapBytes()
	for i := range slowSenders {
		sendSlowly(t, address, i%2 == 0)
	}
	eventually(t, "all are let in", func() bool { return letIn.Load() >= slowSenders })
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	resp, err := client.Get("http://" + address)
	if err != nil {
		t.Fatalf("somebody else is not served: %v", err)
	}
	_ = resp.Body.Close() // only the status is of interest
	if resp.StatusCode != http.StatusOK {
		t.Errorf("somebody else gets %d", resp.StatusCode)
	}
	eventually(t, "the slow ones are gone", func() bool {
		return runtime.NumGoroutine() <= before+2
	})
	if grown := heapBytes() - heapBefore; grown > 8<<20 {
		t.Errorf("%d bytes more are held than before", grown)
	}
	if err := server.Close(); err != nil {
		t.Error(err)
	}
	if err := <-stopped; !errors.Is(err, http.ErrServerClosed) {
		t.Error(err)
	}
}

// sendSlowly connects and sends the beginning of a header, or of a body.
func sendSlowly(t *testing.T, address string, isBody bool) {
	t.Helper()
	begin := "POST / HTTP/1.1\r\nHost: practice.example\r\nX-Slow: "
	if isBody {
		begin = "POST / HTTP/1.1\r\nHost: practice.example\r\nContent-Length: 1000\r\n\r\nx"
	}
	conn, err := net.Dial("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close() })
	if _, err := io.WriteString(conn, begin); err != nil {
		t.Fatal(err)
	}
}

// heapBytes is what is held after tidying up.
func heapBytes() int64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}

// persist goes on until the phone has sent all, as the app does when it is told to come back later.
// It returns how often it was told so.
func (p *phone) persist(ctx context.Context) (told int, err error) {
	for ctx.Err() == nil {
		err := p.attempt()
		var no refused
		if errors.As(err, &no) && no.status == http.StatusServiceUnavailable {
			told++
			time.Sleep(20 * time.Millisecond) // a phone waits for seconds; the order is what counts
			continue
		}
		if err != nil {
			return told, err
		}
		if p.Unsent() == 0 {
			return told, nil
		}
	}
	return told, ctx.Err()
}

// TestServe_AllComeBack: after a restart all phones come back in the same moment, each with work
// and a socket. All are served, nothing is refused for good, and nothing is missing.
func TestServe_AllComeBack(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data)
	r.url()
	owner, doc := claimed(t, r)
	phones := []*phone{owner}
	for i := range *crowd {
		text := must(t, data, "invite", "--role", "coach", "--name", fmt.Sprint("Coach ", i))
		p := join(t, r, text, clock.Device(0x2000+i), owner.nowMS)
		p.sync()
		phones = append(phones, p)
	}
	if code := r.end(); code != exitOK {
		t.Fatalf("stopped with %d:\n%s", code, r.err.String())
	}
	r = start(t, data)
	r.url()
	for _, p := range phones {
		p.server = r
		p.write(doc, "written while the server was away")
	}
	ctx, cancel := context.WithTimeout(t.Context(), 3*time.Minute)
	defer cancel()
	var all sync.WaitGroup
	var mu sync.Mutex
	later := 0
	for _, p := range phones {
		all.Go(func() {
			told, err := p.persist(ctx)
			mu.Lock()
			defer mu.Unlock()
			if later += told; err != nil {
				t.Errorf("a phone is not served: %v", err)
			}
		})
	}
	all.Wait()
	t.Logf("%d phones came back; %d times one was told to come back later", len(phones), later)
	for _, p := range phones {
		p.sync()
		if p.digest(doc) != owner.digest(doc) || p.renewed != 0 {
			t.Errorf("a phone has %s, another %s", p.digest(doc), owner.digest(doc))
		}
		p.listen()
	}
	if d, _ := owner.Doc(doc); d.Len() != 1+len(phones) {
		t.Errorf("%d operations are kept, want %d", d.Len(), 1+len(phones))
	}
	if code := r.end(); code != exitOK {
		t.Errorf("stopped with %d:\n%s", code, r.err.String())
	}
}

// TestServe_StopsUnderLoad: told to stop while phones push, the server ends in order, says to
// sockets that it goes (RFC 6455, 2011, section 7.4.1: 1001), and has all that it acknowledged.
func TestServe_StopsUnderLoad(t *testing.T) {
	folder := t.TempDir()
	data, journal := filepath.Join(folder, "data"), filepath.Join(folder, "journal")
	p := launch(t, data, journal)
	owner, doc := claimed(t, p.running)
	phones := []*phone{owner}
	for i := range 4 {
		text := must(t, data, "invite", "--role", "coach", "--name", fmt.Sprint("Coach ", i))
		phones = append(phones, join(t, p.running, text, clock.Device(0x2000+i), owner.nowMS))
		phones[i+1].sync()
	}
	socket := owner.listen()
	known := stillKnown(t, p.running)
	acknowledged := make([]atomic.Int64, len(phones))
	var busy sync.WaitGroup
	for i, one := range phones {
		one.server = known
		busy.Go(func() {
			for {
				one.write(doc, "written while the server stops")
				if err := one.attempt(); err != nil {
					t.Log("the last word to a phone:", err)
					return
				}
				acknowledged[i].Add(1)
			}
		})
	}
	for i := range phones {
		eventually(t, "each phone pushes", func() bool { return acknowledged[i].Load() >= 3 })
	}
	if err := p.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	goingAway(t, socket)
	busy.Wait()
	if err := p.Wait(); err != nil {
		t.Errorf("it ended with %v\n%s", err, p.err.String())
	}
	must(t, data, "check")
	kept := document(t, data, doc)
	promised := 1
	for i := range acknowledged {
		promised += int(acknowledged[i].Load())
	}
	if kept.Len() < promised {
		t.Errorf("%d operations are kept, %d were acknowledged", kept.Len(), promised)
	}
	p = launch(t, data, journal)
	for _, one := range phones {
		one.server = p.running
		one.sync()
	}
	owner.sync()
	if phones[1].sync(); owner.digest(doc) != phones[1].digest(doc) {
		t.Errorf("phones differ: %s, %s", owner.digest(doc), phones[1].digest(doc))
	}
}

// stillKnown is a server as phones know it, whose address stays when the server has gone.
func stillKnown(t *testing.T, r *running) *running {
	t.Helper()
	known := &running{t: t, data: t.TempDir()}
	address := strings.TrimPrefix(r.url(), "http://") + "\n"
	file := filepath.Join(known.data, addressName)
	if err := os.WriteFile(file, []byte(address), 0o600); err != nil {
		t.Fatal(err)
	}
	return known
}

// goingAway reads until the server closes a socket, which it must do with a word.
func goingAway(t *testing.T, socket *websocket.Conn) {
	t.Helper()
	if err := socket.SetReadDeadline(time.Now().Add(45 * time.Second)); err != nil {
		t.Fatal(err)
	}
	for {
		_, _, err := socket.ReadMessage()
		if err == nil {
			continue
		}
		if !websocket.IsCloseError(err, websocket.CloseGoingAway, websocket.CloseServiceRestart) {
			t.Errorf("the socket ended with %v", err)
		}
		break
	}
}

// document reads a record out of a stopped server's folder.
func document(t *testing.T, data string, doc record.ID) (d *record.Doc) {
	t.Helper()
	s, err := store.Open(filepath.Join(data, storeName))
	if err != nil {
		t.Fatal(err)
	}
	d, err = s.Document(t.Context(), doc)
	if err = errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	return d
}
