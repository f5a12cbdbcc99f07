package main

import "fmt"

// What the project asks of its merge beside the best of the general libraries.
const (
	wholeOfPeer   = 0.8
	sessionOfPeer = 0.7
	apartOfPeer   = 0.6
	syncsOfPeer   = 0.5
	nativeOfPeer  = 0.3
	loadOfPeer    = 1.0
	memoryOfPeer  = 0.5
	mergeOfPeer   = 2.0
	setLimitMS    = 1.0
)

// What it asks of the record beside its columnar bound, and of the one round trip in which a
// phone of a practice of 300 clients learns what changed in a week.
const (
	wholeOfBound = 1.25
	weekClients  = 300
	weekLimit    = 10_000
)

// peerRows tells the core beside whichever library is best at each thing.
func peerRows(own replayed, others []replayed, nativeLoadMS float64) []row {
	ratio := func(name string, value float64, unit string, target float64,
		of func(replayed) float64) row {
		best := others[0]
		for _, other := range others {
			if of(other) < of(best) {
				best = other
			}
		}
		return limited("merge, "+name+", of the best peer", value/of(best), "ratio", target,
			fmt.Sprintf("%s %s beside %s of %s", plain(value), unit, plain(of(best)), best.Name))
	}
	whole := func(r replayed) float64 { return r.WholeBytes }
	session := func(r replayed) float64 { return r.SessionBytes }
	apart := func(r replayed) float64 { return r.ApartBytes }
	syncs := func(r replayed) float64 { return r.SyncsBytes }
	load := func(r replayed) float64 { return r.LoadMS }
	memory := func(r replayed) float64 { return r.MemoryBytes }
	merge := func(r replayed) float64 { return r.MergeMS }
	// The peers' adapters send operations and nothing else, so a whole conversation of ours, with
	// its answers, chains and digests, is told beside the same of theirs as well.
	return []row{
		ratio("whole record", own.WholeBytes, "B", wholeOfPeer, whole),
		ratio("one session's operations", own.SessionBareBytes, "B", sessionOfPeer, session),
		ratio("30 days' operations", own.ApartBareBytes, "B", apartOfPeer, apart),
		ratio("a year's operations", own.SyncsBareBytes, "B", syncsOfPeer, syncs),
		ratio("one session's message", own.SessionBytes, "B", sessionOfPeer, session),
		ratio("30 days' messages", own.ApartBytes, "B", apartOfPeer, apart),
		ratio("a year's conversation", own.SyncsBytes, "B", syncsOfPeer, syncs),
		ratio("loaded and shown natively", nativeLoadMS, "ms", nativeOfPeer, load),
		ratio("loaded and shown as WebAssembly", own.LoadMS, "ms", loadOfPeer, load),
		ratio("memory of a loaded year", own.MemoryBytes, "B", memoryOfPeer, memory),
		limited("merge, one set applied as WebAssembly", own.SetMS, "ms", setLimitMS, ""),
		ratio("30 days merged as WebAssembly", own.MergeMS, "ms", mergeOfPeer, merge),
	}
}

func boundRow(whole float64, bound int) row {
	return limited("merge, whole record, of the columnar bound", whole/float64(bound), "ratio",
		wholeOfBound, fmt.Sprintf("%s B beside %d", plain(whole), bound))
}

func weekRow(bytes int) row {
	return limited("merge, a week away, what changed", float64(bytes), "B", weekLimit,
		fmt.Sprintf("one round trip for %d clients, the changes themselves not counted", weekClients))
}
