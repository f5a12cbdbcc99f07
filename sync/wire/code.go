package wire

// The closed list of codes by which a server refuses an operation or a whole exchange. They
// are explained in SPEC.md.
const (
	CodeForked     = "forked"      // the device's hash chain differs from the server's
	CodeGap        = "gap"         // operations between the server's last and the push are missing
	CodeSchema     = "schema"      // the program is too old or too new to talk to
	CodeDevice     = "device"      // the device is not enrolled, or not the one it says
	CodeMalformed  = "malformed"   // an operation has no valid shape
	CodeFuture     = "future"      // an operation's stamp lies too far ahead
	CodeTooLong    = "too_long"    // a value is longer than allowed
	CodeTooMany    = "too_many"    // more of something than allowed
	CodeForbidden  = "forbidden"   // this person may not write this
	CodeUnknownDoc = "unknown_doc" // no such document
	CodeGone       = "gone"        // the document is no longer shared
	CodeErased     = "erased"      // the document was erased for good
	CodeKind       = "kind"        // the kind does not belong in this document
	CodeBusy       = "busy"        // try again later
	CodeFull       = "full"        // the server has no room
	CodeWithdrawn  = "withdrawn"   // the author asked for it not to be taken in
)

// Codes returns the closed list.
func Codes() []string {
	return []string{
		CodeForked, CodeGap, CodeSchema, CodeDevice, CodeMalformed, CodeFuture, CodeTooLong,
		CodeTooMany, CodeForbidden, CodeUnknownDoc, CodeGone, CodeErased, CodeKind, CodeBusy,
		CodeFull, CodeWithdrawn,
	}
}
