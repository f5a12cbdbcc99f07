package app

// Knows reports whether a command of that name is there to be sent.
func Knows(do string) bool {
	_, found := handlers[do]
	return found
}

// SnapshotAfter is how many operations a document's log may hold.
const SnapshotAfter = snapshotAfter
