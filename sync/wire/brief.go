package wire

import (
	"encoding/binary"
	"hash/crc32"
	"math"
	"slices"

	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// How far the server has judged, as an answer of version 3 tells it.
const (
	haveAsked  = 0 // as the request said
	havePushed = 1 // all that the request pushed; the next request's proof covers the chain
	haveOther  = 2 // something else: epoch, number and chain value follow
	haveAsk    = 3 // the proof proves nothing: ask in full; the answer ends here
)

// ProofOf is what a request that IsBrief says in place of epoch and chain.
func ProofOf(device clock.Device, epoch, seq uint64, chain [32]byte) uint64 {
	return record.Proof(chain, device, seq, epoch)
}

// Knows reports whether the sender of q and a server of that epoch agree on how far the server has
// judged, have, and on the chain value there.
func (q Request) Knows(epoch, have uint64, chain [32]byte) bool {
	if q.IsBrief {
		return have == q.PushFrom && q.Proof == ProofOf(q.Device, epoch, have, chain)
	}
	return q.Epoch == epoch && have == q.PushFrom && chain == q.Chain
}

// IsDigest compares a document's digest with the one that p tells of it.
func (p Response) IsDigest(digest, told [32]byte) bool {
	if p.IsBrief {
		return [briefHash]byte(digest[:]) == [briefHash]byte(told[:])
	}
	return digest == told
}

// briefHash is how many bytes of a hash version 3 tells where it only guards against mistakes.
const briefHash = 8

// devices returns those that an answer need not name: the asking one, then those of the documents
// pushed to and asked for.
func (q Request) devices() []clock.Device {
	devices := []clock.Device{q.Device}
	add := func(d clock.Device) {
		for _, known := range devices {
			if d == known {
				return
			}
		}
		devices = append(devices, d)
	}
	for _, op := range q.Push {
		add(op.Doc.Device)
	}
	for _, pull := range q.Pulls {
		add(pull.Doc.Device)
	}
	return devices
}

// mark tells q from other requests by all that its answer is read beside. Read beside another, an
// answer would say something else and still be whole.
func (q Request) mark() uint32 {
	known := q.Epoch
	if q.IsBrief {
		known = q.Proof
	}
	var b []byte
	add := func(n uint64) { b = binary.BigEndian.AppendUint64(b, n) }
	for _, n := range []uint64{q.Number, uint64(q.WallMS), q.Seen, q.PushFrom, known,
		uint64(len(q.Push))} {
		add(n)
	}
	for _, d := range q.devices() {
		add(uint64(d))
	}
	for _, pull := range q.Pulls {
		add(uint64(pull.Doc.Device))
		add(pull.Doc.Seq)
		add(pull.After)
	}
	return crc32.ChecksumIEEE(b)
}

func (q Request) fillBrief(w *writer) {
	w.put(aboutSchema, uint64(q.Schema))
	w.device(q.Device)
	w.put(aboutNumber, q.Number)
	w.put(aboutClock, zigzag(q.WallMS))
	w.put(aboutSeen, q.Seen)
	w.put(aboutHave, q.PushFrom)
	w.begin(q.WallMS, q.Device, q.PushFrom)
	if q.IsBrief {
		w.put(aboutProof, 1)
		w.raw(binary.BigEndian.AppendUint64(nil, q.Proof))
	} else {
		w.put(aboutProof, 0)
		w.put(aboutEpoch, q.Epoch)
		w.hash(q.Chain)
	}
	w.block(q.Push)
	w.put(aboutVerdicts, uint64(len(q.Withdrawn)))
	for _, seq := range q.Withdrawn {
		w.put(aboutVerdicts, seq-q.PushFrom)
	}
	w.put(aboutPulls, uint64(len(q.Pulls)))
	for _, pull := range q.Pulls {
		w.about(aboutHeads)
		w.id(pull.Doc)
		w.put(aboutCursors, pull.After)
		w.put(aboutWhole, bit(pull.IsWhole))
	}
}

func parseBriefRequest(b []byte) (Request, error) {
	r := openBrief(b, typeRequest, MaxBodyBytes, nil)
	if r.err != nil {
		return Request{}, r.err
	}
	q := Request{IsTaught: true, Schema: r.list(aboutSchema, math.MaxInt32), Device: r.device()}
	q.Number, q.WallMS = r.get(aboutNumber), unzigzag(r.get(aboutClock))
	q.Seen, q.PushFrom = r.get(aboutSeen), r.get(aboutHave)
	r.begin(q.WallMS, q.Device, q.PushFrom)
	if q.IsBrief = r.bool(aboutProof); q.IsBrief {
		q.Proof = binary.BigEndian.Uint64(r.raw(8))
	} else {
		q.Epoch, q.Chain = r.get(aboutEpoch), r.hash()
	}
	q.Push = r.block(MaxPush)
	if n := r.list(aboutVerdicts, MaxPush); n > 0 {
		q.Withdrawn = make([]uint64, n)
	}
	for i := range q.Withdrawn {
		q.Withdrawn[i] = q.PushFrom + r.get(aboutVerdicts)
	}
	if n := r.list(aboutPulls, MaxPulls); n > 0 {
		q.Pulls = make([]Pull, n)
	}
	for i := range q.Pulls {
		r.about(aboutHeads)
		q.Pulls[i] = Pull{Doc: r.id(), After: r.get(aboutCursors), IsWhole: r.bool(aboutWhole)}
	}
	if err := r.close(); err != nil {
		return Request{}, err
	}
	return q, nil
}

// AppendAnswer appends the frame of p, the answer to q, to b. An answer to a request of version 3
// can only be read beside that request.
func (p Response) AppendAnswer(b []byte, q Request) []byte {
	if !q.IsTaught {
		return p.Append(b)
	}
	brief := briefFrame(b, typeResponse, q.devices(), func(w *writer) { p.fillBrief(w, q) })
	if brief == nil {
		return p.Append(b)
	}
	return brief
}

func (p Response) fillBrief(w *writer, q Request) {
	mark := q.mark()
	w.coded.plain(mark>>16, 16)
	w.coded.plain(mark&0xffff, 16)
	w.put(aboutSchema, uint64(p.Schema))
	w.put(aboutClock, zigzag(p.WallMS-q.WallMS))
	w.begin(p.WallMS, q.Device, q.PushFrom)
	switch {
	case p.IsUnclear:
		w.put(aboutProof, haveAsk)
		return
	case p.IsKnown && p.Have == q.PushFrom:
		w.put(aboutProof, haveAsked)
	case p.IsKnown && p.Have == q.PushFrom+uint64(len(q.Push)):
		w.put(aboutProof, havePushed)
	default:
		w.put(aboutProof, haveOther)
		w.put(aboutEpoch, p.Epoch)
		w.put(aboutHave, p.Have)
		w.hash(p.HaveChain)
	}
	w.put(aboutVerdicts, uint64(len(p.Verdicts)))
	for _, v := range p.Verdicts {
		w.put(aboutVerdicts, v.Seq-q.PushFrom)
		w.text(v.Code)
	}
	w.put(aboutSeen, p.Seen-q.Seen)
	w.put(aboutMore, bit(p.MoreChanged))
	w.put(aboutChanged, uint64(len(p.Changed)))
	for _, c := range p.Changed {
		w.about(aboutHeads)
		w.id(c.Doc)
		w.put(aboutCursors, c.Head)
		w.raw(c.Digest[:briefHash])
	}
	w.briefPages(p.Pages, q)
	w.put(aboutGone, uint64(len(p.Gone)))
	for _, gone := range p.Gone {
		w.about(aboutHeads)
		w.id(gone.Doc)
		w.text(gone.Reason)
	}
	w.put(aboutProblem, bit(p.Problem != ""))
	if p.Problem != "" {
		w.text(p.Problem)
	}
}

// briefPages writes of each page which of the documents asked for it is of, counted from the one
// expected next, and what its cursors are beside the one asked from.
func (w *writer) briefPages(pages []Page, q Request) {
	w.put(aboutPages, uint64(len(pages)))
	var all []record.Operation
	next := 0
	for _, page := range pages {
		at := slices.IndexFunc(q.Pulls, func(pull Pull) bool { return pull.Doc == page.Doc })
		var after uint64
		if at < 0 {
			at = len(q.Pulls)
			w.put(aboutPages, zigzag(int64(at-next)))
			w.about(aboutHeads)
			w.id(page.Doc)
		} else {
			after = q.Pulls[at].After
			w.put(aboutPages, zigzag(int64(at-next)))
		}
		next = at + 1
		w.put(aboutCursors, page.From-after)
		w.put(aboutPageSize, page.To-page.From)
		w.put(aboutPageSize, page.Head-page.To)
		w.put(aboutPageSize, uint64(len(page.Ops)))
		all = append(all, page.Ops...)
	}
	w.block(all)
}

func (r *reader) briefPages(p *Response, q Request) {
	if n := r.list(aboutPages, MaxPulls); n > 0 {
		p.Pages = make([]Page, n)
	}
	sizes := make([]int, len(p.Pages))
	next := 0
	for i := range p.Pages {
		page := &p.Pages[i]
		at := next + int(unzigzag(r.get(aboutPages)))
		switch {
		case at == len(q.Pulls):
			r.about(aboutHeads)
			page.Doc = r.id()
		case at >= 0 && at < len(q.Pulls):
			page.Doc, page.From = q.Pulls[at].Doc, q.Pulls[at].After
		default:
			r.fail(ErrMalformed)
			return
		}
		next = at + 1
		page.From += r.get(aboutCursors)
		page.To = page.From + r.get(aboutPageSize)
		page.Head = page.To + r.get(aboutPageSize)
		sizes[i] = r.list(aboutPageSize, MaxPageOps)
	}
	r.share(p.Pages, sizes)
}

// ParseAnswer reads the answer to q, of any version. It returns an error of the closed list. Of an
// answer to another request of version 3 it returns nothing but a number that is not q's.
func ParseAnswer(b []byte, q Request) (Response, error) {
	if len(b) == 0 || b[0] != Version {
		return ParseResponse(b)
	}
	r := openBrief(b, typeResponse, MaxResponseBytes, q.devices())
	var p Response
	if r.err != nil {
		return p, r.err
	}
	if mark := r.coded.plain(16)<<16 | r.coded.plain(16); mark != q.mark() {
		return Response{Number: q.Number - 1}, nil
	}
	p.Number = q.Number
	p.IsBrief, p.Schema = true, r.list(aboutSchema, math.MaxInt32)
	p.WallMS = q.WallMS + unzigzag(r.get(aboutClock))
	r.begin(p.WallMS, q.Device, q.PushFrom)
	if r.have(&p, q); p.IsUnclear {
		return p, r.close()
	}
	if n := r.list(aboutVerdicts, MaxListed); n > 0 {
		p.Verdicts = make([]Verdict, n)
	}
	for i := range p.Verdicts {
		p.Verdicts[i] = Verdict{q.PushFrom + r.get(aboutVerdicts), r.text(MaxCodeBytes)}
	}
	p.Seen = q.Seen + r.get(aboutSeen)
	p.MoreChanged = r.bool(aboutMore)
	if n := r.list(aboutChanged, MaxListed); n > 0 {
		p.Changed = make([]Changed, n)
	}
	for i := range p.Changed {
		r.about(aboutHeads)
		p.Changed[i] = Changed{Doc: r.id(), Head: r.get(aboutCursors)}
		copy(p.Changed[i].Digest[:], r.raw(briefHash))
	}
	r.briefPages(&p, q)
	if n := r.list(aboutGone, MaxListed); n > 0 {
		p.Gone = make([]Gone, n)
	}
	for i := range p.Gone {
		r.about(aboutHeads)
		p.Gone[i] = Gone{r.id(), r.text(MaxCodeBytes)}
	}
	if r.bool(aboutProblem) {
		p.Problem = r.text(MaxCodeBytes)
	}
	if err := r.close(); err != nil {
		return Response{}, err
	}
	return p, nil
}

// have reads how far the server has judged.
func (r *reader) have(p *Response, q Request) {
	switch r.get(aboutProof) {
	case haveAsked:
		p.IsKnown, p.Epoch, p.Have = true, q.Epoch, q.PushFrom
	case havePushed:
		p.IsKnown, p.Epoch, p.Have = true, q.Epoch, q.PushFrom+uint64(len(q.Push))
	case haveOther:
		p.Epoch, p.Have, p.HaveChain = r.get(aboutEpoch), r.get(aboutHave), r.hash()
	case haveAsk:
		p.IsUnclear = true
	default:
		r.fail(ErrMalformed)
	}
}

// begin says what the first numbers of a frame of version 3 are told from.
func (m *models) begin(wallMS int64, own clock.Device, ownSeq uint64) {
	m.wallMS, m.own, m.ownSeq, m.referred = wallMS, own, ownSeq, ownSeq
}

func bit(isSet bool) uint64 {
	if isSet {
		return 1
	}
	return 0
}

// bool reads what bit gave.
func (r *reader) bool(about int) bool {
	b := r.get(about)
	if b > 1 {
		r.fail(ErrMalformed)
	}
	return b == 1
}

// list reads the length of a list, at most limit.
func (r *reader) list(about, limit int) int {
	n := r.get(about)
	if n > uint64(limit) {
		r.fail(ErrLimit)
		return 0
	}
	return int(n)
}
