package live

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"evenhold/sync/clock"
)

// place is a server with a hub. A ticket is "person device".
type place struct {
	hub *Hub
	url string
}

func open(t *testing.T, w waits) *place {
	t.Helper()
	hub := NewHub()
	e := NewEndpoint(hub, func(ticket string) (Listener, error) {
		var who Listener
		if n, _ := fmt.Sscanf(ticket, "%s %d", &who.Person, &who.Device); n != 2 {
			return Listener{}, errors.New("no ticket")
		}
		return who, nil
	}, func(*http.Request) bool { return true })
	e.waits = w
	server := httptest.NewUnstartedServer(e)
	server.Config.ConnState = func(c net.Conn, state http.ConnState) {
		if is, tcp := c.(*net.TCPConn); tcp && state == http.StateNew {
			_ = is.SetWriteBuffer(4 << 10) // or megabytes go to who never reads before it shows
		}
	}
	server.Start()
	t.Cleanup(func() {
		hub.Close()
		server.Close()
	})
	return &place{hub, "ws" + strings.TrimPrefix(server.URL, "http")}
}

func (p *place) dial(t *testing.T, ticket string) *websocket.Conn {
	t.Helper()
	conn, _, err := websocket.DefaultDialer.Dial(p.url, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close() }) // the server may have closed it
	if err := conn.WriteMessage(websocket.TextMessage, []byte(ticket)); err != nil {
		t.Fatal(err)
	}
	return conn
}

// listening dials and waits for the first word: there may have been news while the line was down.
func (p *place) listening(t *testing.T, ticket string) *websocket.Conn {
	t.Helper()
	conn := p.dial(t, ticket)
	if err := conn.SetReadDeadline(time.Now().Add(patience)); err != nil {
		t.Fatal(err)
	}
	_, message, err := conn.ReadMessage()
	if err != nil || string(message) != string(newsMessage) {
		t.Fatalf("first word: %q, %v", message, err)
	}
	return conn
}

func (p *place) known() int {
	p.hub.mu.Lock()
	defer p.hub.mu.Unlock()
	return len(p.hub.open) - p.hub.waiting
}

func eventually(t *testing.T, what string, is func() bool) {
	t.Helper()
	for stop := time.Now().Add(patience); time.Now().Before(stop); {
		if is() {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
	t.Fatal("never happened: " + what)
}

// How long is waited for what must come, on the slowest machine, and for what must not.
const (
	patience = 45 * time.Second
	moment   = 200 * time.Millisecond
)

// hears reads one message; "" if none comes in time.
func hears(t *testing.T, conn *websocket.Conn, wait time.Duration) string {
	t.Helper()
	if err := conn.SetReadDeadline(time.Now().Add(wait)); err != nil {
		t.Fatal(err)
	}
	_, message, err := conn.ReadMessage()
	if err != nil {
		return ""
	}
	return string(message)
}

// closeCode reads on until the server closes and returns its reason (RFC 6455, 2011, section
// 7.4.1), 0 if the connection just ended.
func closeCode(t *testing.T, conn *websocket.Conn) int {
	t.Helper()
	if err := conn.SetReadDeadline(time.Now().Add(patience)); err != nil {
		t.Fatal(err)
	}
	for {
		_, _, err := conn.ReadMessage()
		var closed *websocket.CloseError
		if errors.As(err, &closed) {
			return closed.Code
		}
		if err != nil {
			return 0
		}
	}
}

func TestNews_ReachesItsPeopleOnly(t *testing.T) {
	p := open(t, usualWaits)
	sender := p.listening(t, "coach 1")
	tablet := p.listening(t, "coach 2")
	client := p.listening(t, "client 3")
	other := p.listening(t, "other 4")
	p.hub.News(map[string]bool{"coach": true, "client": true}, 1)
	for name, tt := range map[string]struct {
		conn *websocket.Conn
		want string
	}{
		"the phone it came from":      {sender, ""},
		"the same person's other one": {tablet, `{"news":true}`},
		"a reader":                    {client, `{"news":true}`},
		"somebody else":               {other, ""},
	} {
		wait := patience
		if tt.want == "" {
			wait = moment
		}
		if got := hears(t, tt.conn, wait); got != tt.want {
			t.Errorf("%s heard %q, want %q", name, got, tt.want)
		}
	}
}

// TestSocket_Refused: close codes as in "The WebSocket Protocol", RFC 6455, 2011, section 7.4.1:
// 1001 going away, 1008 policy, 1009 too big; 1013 try again later is in the IANA registry.
func TestSocket_Refused(t *testing.T) {
	p := open(t, usualWaits)
	if code := closeCode(t, p.dial(t, "nonsense")); code != websocket.ClosePolicyViolation {
		t.Errorf("a bad ticket: %d, want 1008", code)
	}
	if code := closeCode(t, p.dial(t, strings.Repeat("x", readLimit+1))); code != 1009 {
		t.Errorf("too long a first message: %d, want 1009", code)
	}
	signedOff := p.listening(t, "coach 5")
	stays := p.listening(t, "coach 6")
	p.hub.Drop(5)
	if code := closeCode(t, signedOff); code != websocket.ClosePolicyViolation {
		t.Errorf("a device that was shut out: %d, want 1008", code)
	}
	for device := range socketsPerPerson {
		p.listening(t, fmt.Sprintf("crowd %d", device))
	}
	if code := closeCode(t, p.dial(t, "crowd 99")); code != websocket.CloseTryAgainLater {
		t.Errorf("one too many of a person: %d, want 1013", code)
	}
	go p.hub.Close()
	if code := closeCode(t, stays); code != websocket.CloseGoingAway {
		t.Errorf("at the stop: %d, want 1001", code)
	}
}

// TestSocket_Silent: a peer that sends no ticket, or answers no ping, is gone after its time,
// and one that answers stays.
func TestSocket_Silent(t *testing.T) {
	p := open(t, waits{read: 1500 * time.Millisecond, ping: 300 * time.Millisecond,
		write: time.Minute, ticket: 1500 * time.Millisecond})
	mute, _, err := websocket.DefaultDialer.Dial(p.url, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer mute.Close()
	p.listening(t, "coach 1") // never read from, so it never answers a ping
	answers := p.listening(t, "coach 2")
	var reading sync.WaitGroup
	reading.Go(func() {
		for {
			if _, _, err := answers.ReadMessage(); err != nil {
				return
			}
		}
	})
	eventually(t, "only the one that answers is left", func() bool { return p.hub.Len() == 1 })
	time.Sleep(2 * time.Second) // longer than any may stay silent
	if p.known() != 1 {
		t.Error("the one that answers was cut off")
	}
	_ = answers.Close()
	reading.Wait()
}

// TestSocket_NeverReads: a phone that takes nothing in is cut off once a message has waited its
// time for it; telling the others never waits, and they hear of everything meanwhile.
func TestSocket_NeverReads(t *testing.T) {
	w := waits{read: time.Minute, ping: time.Minute, write: 3 * time.Second, ticket: time.Minute}
	p := open(t, w)
	stuck := p.listening(t, "stuck 1").UnderlyingConn().(*net.TCPConn)
	if err := stuck.SetReadBuffer(1 << 10); err != nil { // or the system reads megabytes for it
		t.Fatal(err)
	}
	reader := p.listening(t, "fine 2")
	both := map[string]bool{"stuck": true, "fine": true}
	longest := time.Duration(0)
	for stop := time.Now().Add(45 * time.Second); p.hub.Dropped() == 0; {
		if time.Now().After(stop) {
			t.Fatal("a phone that never reads is still there")
		}
		start := time.Now()
		p.hub.News(both, 0)
		longest = max(longest, time.Since(start))
		if hears(t, reader, patience) == "" {
			t.Fatal("another phone heard nothing")
		}
	}
	if longest >= w.write {
		t.Errorf("telling took %v: it waited for the one that does not read", longest)
	}
	eventually(t, "the one that never reads is gone", func() bool { return p.known() == 1 })
	if n := p.hub.Dropped(); n != 1 {
		t.Errorf("%d sockets are said to have been cut off, want 1", n)
	}
}

// TestNews_InABurst: a phone that reads stays, however fast news comes.
func TestNews_InABurst(t *testing.T) {
	p := open(t, usualWaits)
	reader := p.listening(t, "fine 1")
	for range 1000 {
		p.hub.News(map[string]bool{"fine": true}, 0)
	}
	if hears(t, reader, patience) == "" {
		t.Error("it heard nothing")
	}
	if p.known() != 1 || p.hub.Dropped() != 0 {
		t.Errorf("%d are left, %d were cut off", p.known(), p.hub.Dropped())
	}
}

// TestSockets_MemoryStaysFlat: hundreds that connect and say nothing, or take nothing in, hold no
// more memory the more news there is for them, and leave nothing behind when their time is over.
func TestSockets_MemoryStaysFlat(t *testing.T) {
	p := open(t, waits{read: 5 * time.Second, ping: time.Minute, write: time.Minute,
		ticket: 5 * time.Second})
	before := runtime.NumGoroutine()
	crowd := map[string]bool{}
	for person := range 10 {
		name := fmt.Sprint("stuck", person)
		crowd[name] = true
		for device := range socketsPerPerson {
			p.listening(t, fmt.Sprintf("%s %d", name, device))
		}
	}
	for range 100 {
		mute, _, err := websocket.DefaultDialer.Dial(p.url, nil)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = mute.Close() }) // the server has closed it
	}
	settled := heapBytes()
	for range 10_000 {
		p.hub.News(crowd, 0)
	}
	if grown := heapBytes() - settled; grown > 1<<20 {
		t.Errorf("10,000 news made %d sockets hold %d bytes more", p.hub.Len(), grown)
	}
	eventually(t, "all are gone", func() bool {
		return p.hub.Len() == 0 && runtime.NumGoroutine() <= before+2
	})
}

// heapBytes is what is held after tidying up.
func heapBytes() int64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}

// TestHub_LeavesNothingBehind: after all have gone there are as many goroutines as before.
func TestHub_LeavesNothingBehind(t *testing.T) {
	p := open(t, usualWaits)
	before := runtime.NumGoroutine()
	for device := range clock.Device(15) {
		p.listening(t, fmt.Sprintf("coach %d", device))
	}
	p.hub.Close()
	if p.hub.Len() != 0 {
		t.Errorf("%d sockets are left", p.hub.Len())
	}
	eventually(t, "the goroutines have ended", func() bool {
		return runtime.NumGoroutine() <= before+1
	})
	conn := p.dial(t, "coach 1")
	if code := closeCode(t, conn); code != websocket.CloseTryAgainLater {
		t.Errorf("after the stop: %d, want 1013", code)
	}
}
