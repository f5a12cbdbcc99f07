package api

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// expects is the policy a second time, as plainly as it can be written, from the table of who
// may write what: "" or the code of the refusal.
func (m *model) expects(p *actor, op record.Operation) string {
	isPractice, own := op.Doc == m.practice, m.actors[op.Record.Device] == p
	practiceOnly := []string{"practice", "implement", "step", "sample"}
	staffKinds := []string{"client", "author", "screen", "test", "trial", "trunk", "session", "set"}
	said, _ := op.Value.Text()
	may := map[sessions.Role]bool{
		"owner":     true,
		"coach":     op.Kind != "practice" || op.Field == "noisePM",
		"assistant": !isPractice && slices.Contains(staffKinds, op.Kind),
		"client": own && slices.Contains([]string{"author", "session", "set"}, op.Kind) ||
			op.Kind == "item" && (op.Field == "loadWorksLeftG" || op.Field == "loadWorksRightG"),
	}[p.Person.Role]
	isLie := op.Kind == "author" && (!own || op.Field == "name" && said != p.Person.Name ||
		op.Field == "role" && said != string(p.Person.Role))
	switch before := m.kinds[[2]record.ID{op.Doc, op.Record}]; {
	case !m.reads(p, op.Doc):
		return "forbidden"
	case slices.Contains(practiceOnly, op.Kind) != isPractice && op.Kind != "author" &&
		op.Kind != "from_tomorrow":
		return "kind"
	case isPractice && p.Person.Role != "owner" && p.Person.Role != "coach":
		return "forbidden"
	case !isPractice && m.docs[op.Doc] == nil && op.Doc != p.Person.Doc &&
		m.actors[op.Doc.Device] == nil:
		return "unknown_doc"
	case before != "" && before != op.Kind:
		return "kind"
	case !may || isLie:
		return "forbidden"
	}
	return ""
}

// actor is one person with one phone.
type actor struct {
	store.Member
	seq   uint64
	chain [32]byte
	seen  uint64
	news  []record.ID // readable documents changed since seen, oldest change first
	lost  []record.ID // documents closed to them since seen, the oldest first
	n     uint64      // how much news there was for them, and them alone
}

// reads says who sees what: clients their own, the owner all, other staff what is not closed to
// them.
func (m *model) reads(a *actor, doc record.ID) bool {
	switch a.Person.Role {
	case "client":
		return doc == a.Person.Doc
	case "owner":
		return true
	}
	named, isClosed := m.closed[doc]
	return !isClosed || slices.Contains(named, a.Person.ID)
}

func (m *model) noteNews(a *actor, doc record.ID) {
	if !m.reads(a, doc) {
		return
	}
	isDoc := func(d record.ID) bool { return d == doc }
	a.lost = slices.DeleteFunc(a.lost, isDoc)
	a.news = append(slices.DeleteFunc(a.news, isDoc), doc)
	a.n++
}

// share closes a client record to all but some, or opens it to all, as the owner.
func (m *model) share(t *testing.T, rt *rapid.T, h *house) {
	doc := rapid.SampledFrom([]record.ID{{Device: 1, Seq: 1}, {Device: 1, Seq: 2},
		{Device: 2, Seq: 90}}).Draw(rt, "shared")
	want := store.Sharing{IsClosed: rapid.IntRange(0, 3).Draw(rt, "closed") > 0}
	for _, a := range m.order {
		isStaff := a.Person.Role == "coach" || a.Person.Role == "assistant"
		if want.IsClosed && isStaff && rapid.Bool().Draw(rt, "named") {
			want.People = append(want.People, a.Person.ID)
		}
	}
	_, err := h.store.Share(m.order[0].Member, doc, want, m.wallMS)
	if m.docs[doc] == nil {
		if !errors.Is(err, store.ErrNotFound) {
			rt.Fatalf("sharing what is not there: %v", err)
		}
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	m.spreadDoc(doc)
	before := map[*actor]bool{}
	for _, a := range m.order {
		before[a] = m.reads(a, doc)
	}
	delete(m.closed, doc)
	if want.IsClosed {
		m.closed[doc] = want.People
	}
	m.spreadDoc(doc)
	for _, a := range m.order {
		if before[a] && !m.reads(a, doc) {
			a.news = slices.DeleteFunc(a.news, func(d record.ID) bool { return d == doc })
			a.lost = append(a.lost, doc)
			m.losses++
		}
	}
}

func (m *model) spreadDoc(doc record.ID) {
	for _, a := range m.order {
		if a.Person.Role != "client" {
			m.noteNews(a, doc)
		}
	}
}

// model is what the server should hold.
type model struct {
	server   *Server
	practice record.ID
	actors   map[clock.Device]*actor
	order    []*actor
	docs     map[record.ID][]record.Operation
	kinds    map[[2]record.ID]string
	closed   map[record.ID][]string // to all staff but the owner and those named
	losses   int
	wallMS   int64
}

func (a *actor) String() string { return fmt.Sprintf("%s %s", a.Person.Role, a.Device) }

// newModel lets two to seven people in: an owner, then anyone.
func newModel(t *testing.T, rt *rapid.T, h *house) *model {
	m := &model{
		server: h.server, actors: map[clock.Device]*actor{}, docs: map[record.ID][]record.Operation{},
		kinds: map[[2]record.ID]string{}, closed: map[record.ID][]string{},
		wallMS: h.read().UnixMilli() - 1_000_000,
	}
	roles := append([]sessions.Role{"owner"}, rapid.SliceOfN(rapid.SampledFrom(everyone[1:]), 1, 6).
		Draw(rt, "roles")...)
	for i, role := range roles {
		device := clock.Device(i + 1)
		inv := store.Invitation{Handle: fmt.Sprint("H", i), SecretMAC: []byte("m"), Role: role,
			Name: fmt.Sprint("Person ", i), ExpiresMS: m.wallMS + 1}
		if role == sessions.ClientOf {
			inv.Doc = record.ID{Device: 1, Seq: uint64(i)}
		}
		if err := h.store.AddInvitation(inv, m.wallMS); err != nil {
			t.Fatal(err)
		}
		member, err := h.store.Join(inv.Handle, inv.SecretMAC, store.Joining{Device: device,
			SecretHash: [32]byte{byte(i + 1)}, Practice: "Example Practice"}, m.wallMS)
		if err != nil {
			t.Fatal(err)
		}
		a := &actor{Member: member}
		m.actors[device] = a
		m.order = append(m.order, a)
	}
	practice, err := h.store.Practice(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	doc, err := h.store.Document(t.Context(), practice.Doc)
	if err != nil {
		t.Fatal(err)
	}
	m.practice = practice.Doc
	for _, op := range doc.Operations() {
		m.keep(op)
	}
	m.spread(doc.Operations())
	return m
}

// keep holds an accepted operation as the server should.
func (m *model) keep(op record.Operation) {
	m.docs[op.Doc] = append(m.docs[op.Doc], op)
	m.kinds[[2]record.ID{op.Doc, op.Record}] = op.Kind
}

// spread makes the documents that one push changed news to whoever reads them.
func (m *model) spread(ops []record.Operation) {
	var changed []record.ID
	for _, op := range ops {
		if !slices.Contains(changed, op.Doc) {
			changed = append(changed, op.Doc)
		}
	}
	for _, doc := range changed {
		for _, a := range m.order {
			m.noteNews(a, doc)
		}
	}
}

// operation draws any operation at all, honest or not.
func (m *model) operation(rt *rapid.T, a *actor) record.Operation {
	a.seq++
	m.wallMS++
	op := record.Operation{
		Seq: a.seq, Stamp: clock.Stamp{WallMS: m.wallMS, Device: a.Device},
		Doc: rapid.SampledFrom([]record.ID{m.practice, {Device: 1, Seq: 1}, {Device: 1, Seq: 2},
			{Device: 1, Seq: 3}, {Device: a.Device, Seq: 90}, {Device: 404, Seq: 1}}).Draw(rt, "doc"),
		Kind: rapid.SampledFrom([]string{"practice", "client", "author", "screen", "clear", "test",
			"trial", "plan", "item", "decision", "session", "set", "implement", "step", "trunk", "sample",
			"from_tomorrow"}).Draw(rt, "kind"),
		Field: rapid.SampledFrom([]string{"name", "role", "note", "loadWorksLeftG", "loadWorksRightG",
			"holdMS", "noisePM", "voided"}).Draw(rt, "field"),
		Value: record.Text(rapid.SampledFrom([]string{
			a.Person.Name, string(a.Person.Role), "owner", "x",
		}).Draw(rt, "value")),
	}
	if a.Person.Role == "client" && rapid.Bool().Draw(rt, "own document") {
		op.Doc = a.Person.Doc
	}
	op.Record = op.ID()
	if rapid.Bool().Draw(rt, "known record") {
		device := rapid.SampledFrom(m.order).Draw(rt, "whose").Device
		op.Record = record.ID{Device: device, Seq: rapid.Uint64Range(1, 6).Draw(rt, "which")}
	}
	return op
}

// exchange sends q as a, past the checks of who asks.
func (m *model) exchange(t *testing.T, a *actor, q wire.Request) wire.Response {
	w := httptest.NewRecorder()
	r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/api/sync",
		bytes.NewReader(q.Append(nil)))
	if err := m.server.sync(w, r, a.Member); err != nil {
		t.Fatal(err)
	}
	resp, err := wire.ParseResponse(w.Body.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	return resp
}

func (m *model) push(t *testing.T, rt *rapid.T) {
	a := rapid.SampledFrom(m.order).Draw(rt, "pusher")
	q := wire.Request{Schema: wire.Schema, Device: a.Device, Seen: a.seen, PushFrom: a.seq,
		Chain: a.chain}
	var accepted []record.Operation
	var want []wire.Verdict
	for range rapid.IntRange(1, 5).Draw(rt, "operations") {
		op := m.operation(rt, a)
		q.Push = append(q.Push, op)
		a.chain = record.NextChain(a.chain, op)
		code := m.expects(a, op)
		if code != "" {
			want = append(want, wire.Verdict{Seq: op.Seq, Code: code})
			continue
		}
		accepted = append(accepted, op)
		m.keep(op) // what a push begins counts for the rest of it
	}
	m.spread(accepted)
	resp := m.exchange(t, a, q)
	if !slices.Equal(resp.Verdicts, want) || resp.Problem != "" || resp.Have != a.seq {
		rt.Fatalf("%s pushed %+v\ngot  %v %q\nwant %v", a, q.Push, resp.Verdicts, resp.Problem, want)
	}
	if !slices.Equal(resp.Gone, gone(a.lost)) {
		rt.Fatalf("%s is told of the loss of %v, want %v", a, resp.Gone, a.lost)
	}
	m.checkNews(rt, a, resp)
}

func gone(docs []record.ID) (all []wire.Gone) {
	for _, doc := range docs {
		all = append(all, wire.Gone{Doc: doc, Reason: "gone"})
	}
	return all
}

// pull asks for every document there is, and one that there is not, from any cursor.
func (m *model) pull(t *testing.T, rt *rapid.T) {
	a := rapid.SampledFrom(m.order).Draw(rt, "puller")
	q := wire.Request{Schema: wire.Schema, Device: a.Device, Seen: a.seen, PushFrom: a.seq,
		Chain: a.chain}
	wanted := []record.ID{m.practice, {Device: 1, Seq: 1}, {Device: 1, Seq: 2}, {Device: 1, Seq: 3},
		{Device: 2, Seq: 90}, {Device: 404, Seq: 1}}
	want := gone(a.lost)
	var pages []wire.Page
	for _, doc := range wanted {
		ops := m.docs[doc]
		after := rapid.IntRange(0, len(ops)).Draw(rt, "after")
		q.Pulls = append(q.Pulls, wire.Pull{Doc: doc, After: uint64(after)})
		if !m.reads(a, doc) {
			want = append(want, wire.Gone{Doc: doc, Reason: "gone"})
			continue
		}
		if ops == nil {
			continue
		}
		page := wire.Page{Doc: doc, From: uint64(after), To: uint64(len(ops)), Head: uint64(len(ops))}
		for _, op := range ops[after:] {
			if op.Stamp.Device != a.Device {
				page.Ops = append(page.Ops, op)
			}
		}
		pages = append(pages, page)
	}
	resp := m.exchange(t, a, q)
	if !slices.Equal(resp.Gone, want) || !slices.EqualFunc(resp.Pages, pages, equalPages) {
		rt.Fatalf("%s pulled %+v\ngot  %+v %+v\nwant %+v %+v", a, q.Pulls, resp.Pages, resp.Gone,
			pages, want)
	}
	m.checkNews(rt, a, resp)
}

func equalPages(a, b wire.Page) bool {
	return a.Doc == b.Doc && a.From == b.From && a.To == b.To && a.Head == b.Head &&
		slices.EqualFunc(a.Ops, b.Ops, record.Operation.Equal)
}

// checkNews: the list of changes holds what a may read and has not heard of, and a client's
// cursor counts nothing but their own document.
func (m *model) checkNews(rt *rapid.T, a *actor, resp wire.Response) {
	var heard []record.ID
	for _, c := range resp.Changed {
		heard = append(heard, c.Doc)
		doc := record.NewDoc(c.Doc)
		for _, op := range m.docs[c.Doc] {
			if _, err := doc.Apply(op); err != nil {
				rt.Fatal(err)
			}
		}
		if c.Head != uint64(doc.Len()) || c.Digest != doc.Digest() {
			rt.Fatalf("%s heard of %s at %d, want %d, or with another digest", a, c.Doc, c.Head,
				doc.Len())
		}
	}
	if !slices.Equal(heard, a.news) || resp.MoreChanged {
		rt.Fatalf("%s heard of %v, want %v", a, heard, a.news)
	}
	if a.Person.Role == "client" && resp.Seen != uint64(len(m.docs[a.Person.Doc])) {
		rt.Fatalf("%s has seen %d of the %d of their document", a, resp.Seen, len(m.docs[a.Person.Doc]))
	}
	if a.Person.Role != "client" && resp.Seen != a.n {
		rt.Fatalf("%s has seen %d, want the %d they may know of", a, resp.Seen, a.n)
	}
	a.seen, a.news, a.lost = resp.Seen, nil, nil
}

// TestPolicy plays random people, roles, documents and operations, honest or not, and compares
// every answer, with its counts and cursors, to the policy written a second time.
func TestPolicy(t *testing.T) {
	accepted, losses, refused := 0, 0, map[string]int{}
	rapid.Check(t, func(rt *rapid.T) {
		h := bare(t, "")
		defer h.store.Close()
		m := newModel(t, rt, h)
		for range rapid.IntRange(3, 12).Draw(rt, "steps") {
			switch rapid.IntRange(0, 4).Draw(rt, "step") {
			case 0, 1:
				m.push(t, rt)
			case 2, 3:
				m.pull(t, rt)
			default:
				m.share(t, rt, h)
			}
		}
		for _, ops := range m.docs {
			accepted += len(ops)
		}
		losses += m.losses
		m.countRefusals(t, h, refused)
	})
	if losses == 0 {
		t.Error("nobody lost a record: the play was too tame")
	}
	for _, code := range []string{"forbidden", "kind", "unknown_doc"} {
		if refused[code] == 0 {
			t.Errorf("nothing was refused as %s: the play was too tame", code)
		}
	}
	if accepted < 100 {
		t.Errorf("only %d operations were accepted: the play was too strict", accepted)
	}
}

func (m *model) countRefusals(t *testing.T, h *house, refused map[string]int) {
	for _, a := range m.order {
		q := wire.Request{Schema: wire.Schema, Device: a.Device}
		pushed, err := h.store.Push(q, a.Member, access.Rules(a.Person), m.wallMS)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range pushed.State.Refused {
			refused[v.Code]++
		}
	}
}
