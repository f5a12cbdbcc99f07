package app_test

import "testing"

// TestAnswer_SaysWhatALockMustKnow: how many entries only this phone has, and whether a test or
// session is under way; a phone that is locked can look up neither.
func TestAnswer_SaysWhatALockMustKnow(t *testing.T) {
	owner := newHouse(t).owner()
	owner.exchange()
	want := func(when string, unsent int, underWay bool) {
		t.Helper()
		a := owner.send("digest", object{})
		if a.Unsent != unsent || a.Busy != underWay {
			t.Errorf("%s: %d unsent, under way %v; want %d, %v",
				when, a.Unsent, a.Busy, unsent, underWay)
		}
	}
	want("all sent", 0, false)
	doc := owner.addClient("Ira K.")
	added := owner.send("digest", object{}).Unsent
	if added == 0 {
		t.Error("a person was added, and nothing is unsent")
	}
	owner.screen(doc)
	owner.exchange()
	want("all sent again", 0, false)
	owner.prepare(doc, "left")
	if a := owner.send("digest", object{}); a.Unsent == 0 || !a.Busy {
		t.Errorf("a test has begun: %d unsent, under way %v", a.Unsent, a.Busy)
	}
}

// TestLockIsOffered: home leads to the screen about the PIN, and says so when there is one.
func TestLockIsOffered(t *testing.T) {
	owner := newHouse(t).owner()
	owner.visit("/")
	owner.says("lock.action")
	owner.send("open", object{"rows": []object{{
		"store": "meta", "key": "me", "json": owner.rows[rowKey{"meta", "me"}],
	}}, "phone": object{"secure": true, "pin": true}})
	owner.says("lock.action_set")
	owner.visit("/sync")
	owner.says("sync.locked")
}
