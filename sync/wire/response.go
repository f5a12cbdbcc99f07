package wire

import "evenhold/sync/record"

// Response is what the server answers.
type Response struct {
	Schema int
	Epoch  uint64 // changes when the server was restored from a backup; never 0
	Number uint64 // the request's
	WallMS int64  // the server's own reading, in milliseconds since 1970

	// Have is the number of this device's last operation that the server has judged and
	// HaveChain the chain value after it.
	Have      uint64
	HaveChain [32]byte
	Verdicts  []Verdict // every refusal past the request's PushFrom, in order of Seq

	Seen        uint64    // how far Changed reaches
	Changed     []Changed // documents changed since the request's Seen, oldest first
	MoreChanged bool      // whether the list was cut at Seen
	Pages       []Page
	Gone        []Gone

	Problem string // "" or a code: nothing was pushed

	// These three are for version 3 alone. IsKnown says that the request said truly how far this
	// device had been judged, and in which epoch: what both know is then not told again. IsUnclear
	// says that its proof proved nothing, and nothing else. IsBrief says that an answer came as
	// version 3: digests hold their first bytes only, and HaveChain is zero if IsKnown.
	IsKnown, IsUnclear, IsBrief bool
}

// Verdict refuses one operation; those without one were accepted.
type Verdict struct {
	Seq  uint64
	Code string
}

// Changed names a document that changed, the number of its last operation there and its
// digest, by which a phone that has all of it knows without asking.
type Changed struct {
	Doc    record.ID
	Head   uint64
	Digest [32]byte
}

// Page holds operations of one document numbered by the server past From up to To, of Head in
// all. The requesting device's own operations may be left out. A To below From+len(Ops) means
// From+len(Ops).
type Page struct {
	Doc            record.ID
	From, To, Head uint64
	Ops            []record.Operation
}

// Gone says that the reader may no longer see a document, and why.
type Gone struct {
	Doc    record.ID
	Reason string
}

// Append appends the frame of p to b.
func (p Response) Append(b []byte) []byte {
	return frame(b, typeResponse, p.fill)
}

func (p Response) fill(w *writer) {
	w.uvarint(uint64(p.Schema))
	w.uvarint(p.Epoch)
	w.uvarint(p.Number)
	w.varint(p.WallMS)
	w.uvarint(p.Have)
	w.hash(p.HaveChain)
	w.uvarint(uint64(len(p.Verdicts)))
	for _, v := range p.Verdicts {
		w.uvarint(v.Seq)
		w.text(v.Code)
	}
	w.changes(p)
	w.pages(p.Pages)
	w.uvarint(uint64(len(p.Gone)))
	for _, gone := range p.Gone {
		w.id(gone.Doc)
		w.text(gone.Reason)
	}
	w.text(p.Problem)
}

func (w *writer) changes(p Response) {
	w.uvarint(p.Seen)
	w.flag(p.MoreChanged)
	w.uvarint(uint64(len(p.Changed)))
	for _, c := range p.Changed {
		w.id(c.Doc)
		w.uvarint(c.Head)
		w.hash(c.Digest)
	}
}

// pages writes the heads of all pages, then the operations of all in one block, so that they
// share its tables.
func (w *writer) pages(pages []Page) {
	w.uvarint(uint64(len(pages)))
	var all []record.Operation
	for _, page := range pages {
		w.id(page.Doc)
		w.uvarint(page.From)
		w.uvarint(page.To)
		w.uvarint(page.Head)
		w.uvarint(uint64(len(page.Ops)))
		all = append(all, page.Ops...)
	}
	w.block(all)
}

// ParseResponse reads what Response.Append wrote. It returns an error of the closed list.
func ParseResponse(b []byte) (Response, error) {
	r := open(b, typeResponse, MaxResponseBytes)
	p := Response{Schema: r.small(), Epoch: r.uvarint(), Number: r.uvarint()}
	p.WallMS = r.varint()
	p.Have, p.HaveChain = r.uvarint(), r.hash()
	if n := r.items(MaxListed); n > 0 {
		p.Verdicts = make([]Verdict, n)
	}
	for i := range p.Verdicts {
		p.Verdicts[i] = Verdict{Seq: r.uvarint(), Code: r.text(MaxCodeBytes)}
	}
	r.changes(&p)
	r.pages(&p)
	if n := r.items(MaxListed); n > 0 {
		p.Gone = make([]Gone, n)
	}
	for i := range p.Gone {
		p.Gone[i] = Gone{Doc: r.id(), Reason: r.text(MaxCodeBytes)}
	}
	p.Problem = r.text(MaxCodeBytes)
	if err := r.close(); err != nil {
		return Response{}, err
	}
	return p, nil
}

func (r *reader) changes(p *Response) {
	p.Seen = r.uvarint()
	p.MoreChanged = r.flag()
	if n := r.items(MaxListed); n > 0 {
		p.Changed = make([]Changed, n)
	}
	for i := range p.Changed {
		p.Changed[i] = Changed{Doc: r.id(), Head: r.uvarint(), Digest: r.hash()}
	}
}

func (r *reader) pages(p *Response) {
	if n := r.items(MaxPulls); n > 0 {
		p.Pages = make([]Page, n)
	}
	sizes := make([]int, len(p.Pages))
	for i := range p.Pages {
		p.Pages[i] = Page{Doc: r.id(), From: r.uvarint(), To: r.uvarint(), Head: r.uvarint()}
		sizes[i] = r.count(MaxPageOps)
	}
	r.share(p.Pages, sizes)
}

// share reads the operations of all pages and gives each its own.
func (r *reader) share(pages []Page, sizes []int) {
	all := r.block(MaxResponseOps)
	for i, size := range sizes {
		if size > len(all) {
			r.fail(ErrMalformed)
			return
		}
		if size > 0 {
			pages[i].Ops, all = all[:size:size], all[size:]
		}
	}
	if len(all) > 0 {
		r.fail(ErrMalformed)
	}
}
