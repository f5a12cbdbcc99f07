package app_test

import "testing"

// TestRights_TheTableIsShown: the page names each role and kinds of the policy in$
// words.
func TestRights_TheTableIsShown(t *testing.T) {
	p := newHouse(t).owner()
	p.visit("/practice")
	p.says("rights.title")
	p.visit("/practice/rights")
	for _, key := range []string{
		"rights.of_owner", "rights.of_client", "rights.any", "rights.own", "rights.none",
		"kind.clear", "kind.implement", "rights.part_item",
	} {
		p.says(key)
	}
}
