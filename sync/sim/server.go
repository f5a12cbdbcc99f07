package sim

import (
	"maps"
	"slices"

	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// Bounds small enough that every run meets them.
const (
	pageOps   = 12
	newsDocs  = 4
	lockedFor = "locked" // a kind that only the coach may write
	coach     = person(0)
)

type person int

// server is the obvious server: everything in memory, one request at a time.
type server struct {
	epoch   uint64
	isNewer bool // of the version after
	devices map[clock.Device]*enrolled
	docs    map[record.ID]*shelf
	changes []change
}

type enrolled struct {
	owner   person
	isGone  bool // the owner's access was taken away on this device
	state   exchange.DeviceState
	refused []exchange.Refusal // all ever
}

// shelf is one document: its operations in the order of their numbers, who may read it.
type shelf struct {
	ops     []record.Operation
	digest  [32]byte
	readers map[person]bool
}

// change is one entry of the practice's log. revoked is who lost the document, -1 for nobody.
type change struct {
	doc     record.ID
	revoked person
}

func newServer() *server {
	return &server{
		epoch: 1, devices: map[clock.Device]*enrolled{}, docs: map[record.ID]*shelf{},
	}
}

func (s *server) enrol(device clock.Device, owner person) {
	if s.devices[device] == nil {
		s.devices[device] = &enrolled{
			owner: owner, state: exchange.DeviceState{Device: device},
		}
	}
}

// backup returns a deep copy.
func (s *server) backup() *server {
	c := newServer()
	c.epoch, c.isNewer = s.epoch, s.isNewer
	c.changes = slices.Clone(s.changes)
	for device, e := range s.devices {
		kept := *e
		kept.refused = slices.Clone(e.refused)
		c.devices[device] = &kept
	}
	for id, d := range s.docs {
		c.docs[id] = &shelf{
			ops: slices.Clone(d.ops), digest: d.digest, readers: maps.Clone(d.readers),
		}
	}
	return c
}

// mayRead reports whether a person sees a document.
func (s *server) mayRead(who person, doc record.ID) bool {
	d := s.docs[doc]
	return d != nil && (who == coach || d.readers[who])
}

// rules are the server's for one push; they know what the push itself begins.
type rules struct {
	s     *server
	who   person
	begun map[record.ID]bool
}

func (r rules) May(op record.Operation) string {
	isKnown := r.s.docs[op.Doc] != nil || r.begun[op.Doc]
	switch {
	case op.Kind == lockedFor && r.who != coach:
		return wire.CodeForbidden
	case !isKnown && op.Doc.Device != op.Stamp.Device:
		return wire.CodeUnknownDoc
	case isKnown && !r.begun[op.Doc] && !r.s.mayRead(r.who, op.Doc):
		return wire.CodeForbidden
	}
	if !isKnown {
		r.begun[op.Doc] = true
	}
	return ""
}

// answer takes in the bytes of a request and returns those of the response.
func (s *server) answer(b []byte, wallMS int64, isBusy bool) []byte {
	q, err := wire.ParseRequest(b)
	if err != nil {
		panic(err) // the simulated network loses and repeats, but does not damage
	}
	device := s.devices[q.Device]
	if problem := s.problem(q, device, isBusy); problem != "" {
		return wire.Response{Number: q.Number, Epoch: s.epoch, Problem: problem}.Append(nil)
	}
	dev := device.state
	dev.Epoch = s.epoch
	for _, r := range device.refused {
		if r.Op.Seq > q.PushFrom {
			dev.Refused = append(dev.Refused, wire.Verdict{Seq: r.Op.Seq, Code: r.Code})
		}
	}
	j := exchange.Judge(q, dev, rules{s, device.owner, map[record.ID]bool{}}, wallMS)
	s.store(device, j)
	resp := exchange.Answer(q, j, s.epoch, wallMS)
	if !j.IsUnclear && (q.Epoch == s.epoch || q.Epoch == 0) {
		s.news(q, device.owner, &resp)
		s.pages(q, device.owner, &resp)
	}
	return resp.AppendAnswer(nil, q)
}

// problem says why a request is not judged at all, "" if it is.
func (s *server) problem(q wire.Request, device *enrolled, isBusy bool) string {
	switch {
	case (q.Schema > wire.Schema) != s.isNewer:
		return wire.CodeSchema
	case device == nil || device.isGone:
		return wire.CodeDevice
	case isBusy:
		return wire.CodeBusy
	}
	return ""
}

func (s *server) store(device *enrolled, j exchange.Judgement) {
	if j.Problem != "" {
		return
	}
	device.state = j.State
	device.state.Refused = nil
	device.refused = append(device.refused, j.Refused...)
	for _, op := range j.Accepted {
		d := s.docs[op.Doc]
		if d == nil {
			d = &shelf{readers: map[person]bool{device.owner: true}}
			s.docs[op.Doc] = d
		}
		d.ops = append(d.ops, op)
		d.digest = record.AddDigest(d.digest, op)
		s.changes = append(s.changes, change{op.Doc, -1})
	}
}

func (s *server) news(q wire.Request, who person, resp *wire.Response) {
	told := map[record.ID]bool{}
	resp.Seen = q.Seen
	for n := q.Seen; n < uint64(len(s.changes)); n++ {
		c := s.changes[n]
		isRead := s.mayRead(who, c.doc)
		isNews := isRead || c.revoked == who
		if isNews && !told[c.doc] && len(told) == newsDocs {
			resp.MoreChanged = true
			return
		}
		resp.Seen = n + 1
		if !isNews || told[c.doc] {
			continue
		}
		told[c.doc] = true
		if d := s.docs[c.doc]; isRead {
			head := uint64(len(d.ops))
			resp.Changed = append(resp.Changed, wire.Changed{
				Doc: c.doc, Head: head, Digest: d.digest,
			})
		} else {
			resp.Gone = append(resp.Gone, wire.Gone{Doc: c.doc, Reason: "not shared"})
		}
	}
}

func (s *server) pages(q wire.Request, who person, resp *wire.Response) {
	for _, pull := range q.Pulls {
		d := s.docs[pull.Doc]
		if d == nil {
			continue // not known yet, so not gone
		}
		if !s.mayRead(who, pull.Doc) {
			resp.Gone = append(resp.Gone, wire.Gone{Doc: pull.Doc, Reason: "not shared"})
			continue
		}
		page := wire.Page{Doc: pull.Doc, From: pull.After, Head: uint64(len(d.ops))}
		for page.To = page.From; page.To < page.Head && len(page.Ops) < pageOps; page.To++ {
			op := d.ops[page.To]
			if pull.IsWhole || op.Stamp.Device != q.Device {
				page.Ops = append(page.Ops, op)
			}
		}
		resp.Pages = append(resp.Pages, page)
	}
}

// share lets a person read a document, or no longer.
func (s *server) share(doc record.ID, who person, isShared bool) {
	if who == coach || s.docs[doc].readers[who] == isShared {
		return
	}
	s.docs[doc].readers[who] = isShared
	c := change{doc, -1}
	if !isShared {
		c.revoked = who
	}
	s.changes = append(s.changes, c)
}
