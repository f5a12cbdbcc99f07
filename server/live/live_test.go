package live

import (
	"errors"
	"fmt"
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
	server := httptest.NewServer(e)
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
	if err := conn.SetReadDeadline(time.Now().Add(5 * time.Second)); err != nil {
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
	for range 1000 {
		if is() {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
	t.Fatal("never happened: " + what)
}

// hears reads one message; "" if none comes within a fifth of a second.
func hears(t *testing.T, conn *websocket.Conn) string {
	t.Helper()
	if err := conn.SetReadDeadline(time.Now().Add(200 * time.Millisecond)); err != nil {
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
	if err := conn.SetReadDeadline(time.Now().Add(5 * time.Second)); err != nil {
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
		if got := hears(t, tt.conn); got != tt.want {
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
	p := open(t, waits{read: 300 * time.Millisecond, ping: 100 * time.Millisecond,
		write: time.Second, ticket: 300 * time.Millisecond})
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
	time.Sleep(600 * time.Millisecond)
	if p.known() != 1 {
		t.Error("the one that answers was cut off")
	}
	_ = answers.Close()
	reading.Wait()
}

// TestSocket_NeverReads: a phone that takes nothing in is cut off; telling the others never
// waits for it.
func TestSocket_NeverReads(t *testing.T) {
	p := open(t, waits{read: time.Minute, ping: time.Minute, write: 200 * time.Millisecond,
		ticket: time.Second})
	p.listening(t, "stuck 1")
	for stop := time.Now().Add(20 * time.Second); p.known() > 0; {
		if time.Now().After(stop) {
			t.Fatal("a phone that never reads is still there")
		}
		start := time.Now()
		for range 1000 {
			p.hub.News(map[string]bool{"stuck": true}, 0)
		}
		if took := time.Since(start); took > time.Second {
			t.Fatalf("telling took %v", took)
		}
	}
	if n := p.hub.Dropped(); n != 1 {
		t.Errorf("%d sockets are said to have been cut off, want 1", n)
	}
	reader := p.listening(t, "fine 2")
	p.hub.News(map[string]bool{"fine": true}, 0)
	if got := hears(t, reader); got == "" {
		t.Error("another phone heard nothing")
	}
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
