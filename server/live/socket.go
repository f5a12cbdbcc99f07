package live

import (
	"errors"
	"net"
	"net/http"
	"sync"
	"time"

	"github.com/gorilla/websocket"
)

// Without deadlines and a read limit the library keeps silent connections and
// takes messages of any size.
const readLimit = 4 << 10

// waits is how long a socket may stay silent.
type waits struct {
	read   time.Duration // for a pong or message
	ping   time.Duration // between pings
	write  time.Duration // for the other side to take a message
	ticket time.Duration // for the first message
}

var usualWaits = waits{
	read: 60 * time.Second, ping: 54 * time.Second, write: 10 * time.Second,
	ticket: 10 * time.Second,
}

var newsMessage = []byte(`{"news":true}`)

// socket is one phone's open connection.
type socket struct {
	conn  *websocket.Conn
	waits waits
	who   Listener
	news  chan struct{} // holds one: news that is waiting already says it all
	over  sync.Once     // to end it
	ended chan closing  // holds the reason to close for
	read  chan struct{} // closed when reading has stopped
}

type closing struct {
	code   int
	reason string
}

// Endpoint opens websockets.
type Endpoint struct {
	hub      *Hub
	waits    waits
	take     func(ticket string) (Listener, error)
	upgrader websocket.Upgrader
}

// NewEndpoint returns the handler that opens sockets of hub. take uses a ticket
// up; mayOpen decides by a request's Origin header.
func NewEndpoint(
	hub *Hub, take func(ticket string) (Listener, error), mayOpen func(*http.Request) bool,
) *Endpoint {
	return &Endpoint{hub: hub, waits: usualWaits, take: take, upgrader: websocket.Upgrader{
		HandshakeTimeout: usualWaits.write, ReadBufferSize: 1 << 10, WriteBufferSize: 1 << 10,
		CheckOrigin: mayOpen,
	}}
}

// ServeHTTP opens a socket and serves it until either side closes it. The first
// message must be a ticket; it never stands in the address, which gets into logs.
func (e *Endpoint) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	conn, err := e.upgrader.Upgrade(w, r, nil)
	if err != nil {
		return // Upgrade has answered
	}
	s := &socket{
		conn: conn, waits: e.waits, news: make(chan struct{}, 1), ended: make(chan closing, 1),
		read: make(chan struct{}),
	}
	if !e.hub.add(s) {
		s.refuse(websocket.CloseTryAgainLater, "busy")
		return
	}
	defer e.hub.remove(s)
	written := make(chan struct{})
	go func() {
		defer close(written)
		var failure net.Error
		if errors.As(s.writeLoop(), &failure) && failure.Timeout() {
			e.hub.drop()
		}
	}()
	e.readLoop(s)
	close(s.read)
	<-written
}

// readLoop takes the ticket, then reads only to notice pongs and the end. It
// stops at the first error: the library gives up on a connection read after one.
func (e *Endpoint) readLoop(s *socket) {
	s.conn.SetReadLimit(readLimit)
	s.setReadDeadline(s.waits.ticket)
	_, ticket, err := s.conn.ReadMessage()
	if err != nil {
		return
	}
	who, err := e.take(string(ticket))
	if err != nil {
		s.end(websocket.ClosePolicyViolation, "this ticket is not good")
	} else if !e.hub.know(s, who) {
		s.end(websocket.CloseTryAgainLater, "too many open at once")
	} else {
		s.tell() // of what was new while this line was down
	}
	s.setReadDeadline(s.waits.read)
	s.conn.SetPongHandler(func(string) error {
		s.setReadDeadline(s.waits.read)
		return nil
	})
	for {
		if _, _, err := s.conn.ReadMessage(); err != nil {
			return
		}
		s.setReadDeadline(s.waits.read)
	}
}

// writeLoop is the only writer of data. Closing the connection at its end also
// ends readLoop. Its error is why the other side could not be told.
func (s *socket) writeLoop() error {
	defer s.conn.Close()
	ping := time.NewTicker(s.waits.ping)
	defer ping.Stop()
	for {
		var err error
		select {
		case <-s.news:
			s.setWriteDeadline()
			err = s.conn.WriteMessage(websocket.TextMessage, newsMessage)
		case <-ping.C:
			err = s.conn.WriteControl(websocket.PingMessage, nil, time.Now().Add(s.waits.write))
		case c := <-s.ended:
			s.refuse(c.code, c.reason)
			return nil
		case <-s.read:
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// tell has news written as soon as the phone takes something in, and never waits for it.
func (s *socket) tell() {
	select {
	case s.news <- struct{}{}:
	default:
	}
}

// end asks the writer to close; the first reason stands.
func (s *socket) end(code int, reason string) {
	s.over.Do(func() { s.ended <- closing{code, reason} })
}

// refuse says why and closes; a phone that is gone need not hear it.
func (s *socket) refuse(code int, reason string) {
	message := websocket.FormatCloseMessage(code, reason)
	_ = s.conn.WriteControl(websocket.CloseMessage, message, time.Now().Add(s.waits.write))
	_ = s.conn.Close()
}

func (s *socket) setReadDeadline(wait time.Duration) {
	_ = s.conn.SetReadDeadline(time.Now().Add(wait)) // an error shows at the next read
}

func (s *socket) setWriteDeadline() {
	_ = s.conn.SetWriteDeadline(time.Now().Add(s.waits.write)) // an error shows at the next write
}
