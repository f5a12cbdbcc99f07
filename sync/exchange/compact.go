package exchange

import "evenhold/sync/record"

// Compact lets go of what others wrote in a document before beforeMS, in milliseconds since
// 1970, and others have replaced: the server has it. It returns how many operations went; none
// while it is not known which orphans the server has.
func (p *Phone) Compact(doc record.ID, beforeMS int64) int {
	d, found := p.docs[doc]
	if !found || len(p.orphans) > 0 {
		return 0
	}
	return d.Compact(record.Horizon{
		BeforeMS: beforeMS, Own: p.author.Device(), Acked: p.acked,
	})
}
