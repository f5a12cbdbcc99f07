package api

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
)

// TestLive_TicketOnce: a ticket that opened one socket opens no other, a late one none at all, and
// no socket compresses ("The WebSocket Protocol", RFC 6455, 2011, section 9.1: only what the
// server names back is used).
func TestLive_TicketOnce(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	ticket := func() string {
		a := h.post("/api/ticket", object{}, "Authorization", owner.bearer())
		text, _ := a.json(t)["ticket"].(string)
		return text
	}
	dial := func(ticket string) *websocket.Conn {
		t.Helper()
		dialer := websocket.Dialer{EnableCompression: true}
		conn, resp, err := dialer.Dial("ws"+strings.TrimPrefix(h.url, "http")+"/api/live", nil)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = conn.Close() }) // the server may have closed it
		if got := resp.Header.Get("Sec-WebSocket-Extensions"); got != "" {
			t.Errorf("the socket uses %q", got)
		}
		if err := conn.WriteMessage(websocket.TextMessage, []byte(ticket)); err != nil {
			t.Fatal(err)
		}
		if err := conn.SetReadDeadline(time.Now().Add(45 * time.Second)); err != nil {
			t.Fatal(err)
		}
		return conn
	}
	first := ticket()
	if _, message, err := dial(first).ReadMessage(); err != nil || string(message) != `{"news":true}` {
		t.Fatalf("the first use: %q, %v", message, err)
	}
	late := ticket()
	h.wait(time.Minute)
	for name, used := range map[string]string{"used": first, "late": late} {
		if _, _, err := dial(used).ReadMessage(); !websocket.IsCloseError(err,
			websocket.ClosePolicyViolation) {
			t.Errorf("a %s ticket: %v, want 1008", name, err)
		}
	}
	in := h.ask(http.MethodGet, "/api/live?ticket="+ticket(), nil)
	if in.status < 400 || strings.Contains(h.log.String(), first) {
		t.Errorf("a ticket in the address: %d; or a ticket is in the log", in.status)
	}
}
