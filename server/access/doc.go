// Package access decides who comes in and who may write what: invitation codes,
// the server's key, device secrets, tokens, and the rules for pushed operations.
//
// The clock is handed in. What is kept of a code or a secret cannot be turned
// back into it.
package access
