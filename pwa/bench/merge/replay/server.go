package replay

import (
	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// server is a practice's server in memory: everyone may read and write everything.
type server struct {
	devices map[clock.Device]exchange.DeviceState
	shelves map[record.ID]*shelf
	changes []record.ID // the documents in the order in which they changed
}

// shelf is one document: its operations in the order of their numbers.
type shelf struct {
	ops    []record.Operation
	digest [32]byte
}

func newServer() *server {
	return &server{
		devices: map[clock.Device]exchange.DeviceState{}, shelves: map[record.ID]*shelf{},
	}
}

const epoch = 0x5bd1e995 // as random as a server's

// everyone may do everything.
type everyone struct{}

func (everyone) May(record.Operation) string { return "" }

// answer takes in the bytes of a request and returns those of the response.
func (s *server) answer(b []byte, wallMS int64) ([]byte, error) {
	q, err := wire.ParseRequest(b)
	if err != nil {
		return nil, err
	}
	device := s.devices[q.Device]
	device.Device, device.Epoch = q.Device, epoch
	j := exchange.Judge(q, device, everyone{}, wallMS)
	if j.Problem == "" {
		s.devices[q.Device] = j.State
	}
	for _, op := range j.Accepted {
		kept := s.shelves[op.Doc]
		if kept == nil {
			kept = &shelf{}
			s.shelves[op.Doc] = kept
		}
		kept.ops = append(kept.ops, op)
		kept.digest = record.AddDigest(kept.digest, op)
		s.changes = append(s.changes, op.Doc)
	}
	answer := exchange.Answer(q, j, epoch, wallMS)
	if !j.IsUnclear {
		s.news(q, &answer)
		s.pages(q, &answer)
	}
	return answer.AppendAnswer(nil, q), nil
}

func (s *server) news(q wire.Request, answer *wire.Response) {
	answer.Seen = q.Seen
	told := map[record.ID]bool{}
	for n := q.Seen; n < uint64(len(s.changes)); n++ {
		doc := s.changes[n]
		answer.Seen = n + 1
		if told[doc] {
			continue
		}
		told[doc] = true
		kept := s.shelves[doc]
		answer.Changed = append(answer.Changed, wire.Changed{
			Doc: doc, Head: uint64(len(kept.ops)), Digest: kept.digest,
		})
	}
}

func (s *server) pages(q wire.Request, answer *wire.Response) {
	room := wire.MaxResponseOps
	for _, pull := range q.Pulls {
		kept := s.shelves[pull.Doc]
		if kept == nil {
			continue
		}
		page := wire.Page{Doc: pull.Doc, From: pull.After, Head: uint64(len(kept.ops))}
		for page.To = page.From; page.To < page.Head; page.To++ {
			if room == 0 || len(page.Ops) == wire.MaxPageOps {
				break
			}
			if op := kept.ops[page.To]; pull.IsWhole || op.Stamp.Device != q.Device {
				page.Ops = append(page.Ops, op)
				room--
			}
		}
		answer.Pages = append(answer.Pages, page)
	}
}
