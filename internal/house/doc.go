// Package house holds the rules of this repository as ordinary tests: who may
// import whom and why, what the pure packages must not call, how long files,
// functions and lines may be, and which words never stand in a tracked file.
//
// It has no code of its own. A test that fails says which rule was broken, the
// reason for the rule and what to do instead. Lengths are counted in lines and
// in characters; a tab counts as one.
package house
