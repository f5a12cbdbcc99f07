// Package app is what happens on the phone between a tap and the next screen:
// commands in, rows to store and a view to draw out.
//
// It reads no clock, storage or network of its own: each command brings a
// reading of the clocks and random bytes, rows to be stored go out with the
// answer, and what must be asked of the server goes out as a request whose
// answer comes back as a command. It is not safe for use by several goroutines.
package app

import (
	"evenhold/internal/boundary"
	"evenhold/internal/sessions"
	"evenhold/internal/symmetry"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// Command is one call from the page.
type Command struct {
	Do     string              `json:"do"`
	Args   boundary.RawMessage `json:"args"`
	At     sessions.Reading    `json:"at"`
	TZMin  int64               `json:"tzMin"`  // minutes east of UTC
	Random string              `json:"random"` // 32 hexadecimal characters
	blobs  [][]byte
}

// Write is one row to store, or to delete.
type Write struct {
	Store  string   `json:"store"`
	Key    string   `json:"key"`
	Blob   *int     `json:"blob,omitempty"`
	JSON   any      `json:"json,omitempty"`
	Delete bool     `json:"delete,omitempty"`
	Range  []string `json:"range,omitempty"` // delete all keys from the first to the last
}

// Ask is a question to the server; its answer comes back as the command Then
// with args {status, body}. Status 0 says that the server was not reached.
type Ask struct {
	_    [0]func()
	Path string `json:"path"`
	Body any    `json:"body"`
	Then string `json:"then"`
	Auth bool   `json:"auth,omitempty"`
}

// Later is a command that the worker runs by itself after a while.
type Later struct {
	Do string `json:"do"`
	MS int64  `json:"ms"`
}

// Refusal is why a command was not done: a plain sentence, and the field it
// belongs to. What was typed is kept.
type Refusal struct {
	_     [0]func()
	Code  string `json:"code"`
	Field string `json:"field,omitempty"`
	Text  Text   `json:"text"`
}

// Error makes a Refusal an error.
func (r *Refusal) Error() string { return r.Code }

func refuse(code, field string, text Text) error {
	return &Refusal{Code: code, Field: field, Text: text}
}

// Answer is what a call gives back.
type Answer struct {
	Error   *Refusal `json:"error,omitempty"`
	Writes  []Write  `json:"writes,omitempty"`
	View    *View    `json:"view,omitempty"`
	Route   string   `json:"route,omitempty"`
	Sync    bool     `json:"sync,omitempty"`    // there is something to send or fetch
	Request *int     `json:"request,omitempty"` // blob: body of the sync request
	Ask     *Ask     `json:"ask,omitempty"`
	Later   *Later   `json:"later,omitempty"`
	Result  any      `json:"result,omitempty"`

	Unsent   int  `json:"unsent,omitempty"`   // entries that only this phone has
	UnderWay bool `json:"underWay,omitempty"` // a test or a session is: the phone must stay open
}

// App is one phone.
type App struct {
	me       me
	prefs    prefs
	link     link
	route    string
	tests    map[string]sessions.TestRun // by document
	works    map[string]sessions.WorkRun
	drafts   map[string]draft
	forms    map[string]form
	flips    map[string]bool
	said     *Said
	renewing clock.Device // identity asked for, 0 if none
	invite   *invitation
	joining  *joining
	asking   *asking
	knockers []knocker
	letting  bool // the tap that is under way lets a phone in
	roster   *roster
	cache    map[record.ID]summary
	doses    map[record.ID]*dosed // of one record at most
	browser  browser
	retests  map[record.ID]retests
	noise    symmetry.Noise
	ownError float64 // the typical error that the records lead to, whatever was set
	ladders  ladders

	// Of the command under way.
	now    Command
	writes []Write
	blobs  [][]byte
	ask    *Ask
	fresh  map[record.ID][]record.Operation
}

// New returns a phone that has not opened its storage yet.
func New() *App {
	a := &App{}
	a.reset()
	return a
}

func (a *App) reset() {
	*a = App{
		route: "/",
		tests: map[string]sessions.TestRun{}, works: map[string]sessions.WorkRun{},
		drafts: map[string]draft{}, forms: map[string]form{}, flips: map[string]bool{},
		cache: map[record.ID]summary{}, retests: map[record.ID]retests{},
		prefs: prefs{Lang: "", Scheme: "auto"},
	}
}

// Call answers one frame with one frame. A frame that cannot be read is
// answered with the code "malformed".
func (a *App) Call(frame []byte) []byte {
	head, blobs, err := parseFrame(frame)
	var cmd Command
	if err == nil {
		err = boundary.Unmarshal(head, &cmd)
	}
	if err != nil {
		return appendFrame(nil, Answer{
			Error: &Refusal{Code: "malformed", Text: say("error.malformed")},
		}, nil)
	}
	cmd.blobs = blobs
	answer := a.do(cmd)
	return appendFrame(nil, answer, a.blobs)
}

func (a *App) do(cmd Command) Answer {
	a.now, a.writes, a.blobs, a.ask = cmd, nil, nil, nil
	a.fresh = map[record.ID][]record.Operation{}
	handler, found := handlers[cmd.Do]
	if !found {
		return Answer{Error: &Refusal{Code: "unknown", Text: say("error.unknown", "name", cmd.Do)}}
	}
	var answer Answer
	before := a.route
	err := handler(a, &answer)
	// What was written before an error stands: operations are never taken back.
	a.flush()
	if err != nil {
		answer.Error = a.refusal(err)
	}
	if answer.Request == nil && !quiet[cmd.Do] {
		view := a.view()
		answer.View = &view
		a.keepView(view)
	}
	if a.route != before || cmd.Do == "go" {
		answer.Route = a.route
	}
	answer.Writes, answer.Ask = a.writes, a.ask
	answer.Unsent, answer.UnderWay = a.onlyHere(), len(a.tests)+len(a.works) > 0
	return answer
}

// quiet commands answer without a view.
var quiet = map[string]bool{"sync.request": true, "digest": true}

// keepView stores what the next start paints before the core is up. A screen
// with a running clock is worked out again by then; its rows go too.
func (a *App) keepView(v View) {
	if v.Screen == "form" {
		return
	}
	a.put("view", a.route, v)
	a.put("view", "last", v)
}

func (a *App) put(store, key string, value any) {
	a.writes = append(a.writes, Write{Store: store, Key: key, JSON: value})
}

func (a *App) drop(store, key string) {
	a.writes = append(a.writes, Write{Store: store, Key: key, Delete: true})
}

func (a *App) putBlob(store, key string, bytes []byte) {
	n := len(a.blobs)
	a.blobs = append(a.blobs, bytes)
	a.writes = append(a.writes, Write{Store: store, Key: key, Blob: &n})
}

// args reads the command's arguments.
func (a *App) args(into any) error {
	if len(a.now.Args) == 0 {
		return nil
	}
	if err := boundary.Unmarshal(a.now.Args, into); err != nil {
		return refuse("malformed", "", say("error.malformed"))
	}
	return nil
}
