package app_test

import "testing"

// TestKeeping: what the browser says of its storage is told where one looks for it, and asked
// anew when a person wants.
func TestKeeping(t *testing.T) {
	owner := newHouse(t).owner()
	opened := func(facts object) {
		owner.send("open", object{"rows": []object{{
			"store": "meta", "key": "me", "json": owner.rows[rowKey{"meta", "me"}],
		}}, "phone": facts})
		owner.visit("/sync")
		owner.says("keep.title")
	}
	opened(object{})
	owner.says("keep.unknown")
	owner.saysNot("keep.yes", "keep.no", "keep.room")
	opened(object{"kept": true, "usedB": 2_400_000, "roomB": 61_900_000_000})
	owner.says("keep.yes")
	owner.saysNot("keep.unknown", "keep.no")
	if room := owner.texts("keep.room"); len(room) != 1 ||
		room[0]["used"] != 2.0 || room[0]["room"] != 61_900.0 {
		t.Errorf("the room: %v, want 2 MB of 61900 MB", room)
	}
	opened(object{"kept": false, "usedB": 1})
	owner.says("keep.no")
	owner.saysNot("keep.yes", "keep.room")

	ask := func(said object) {
		if len(owner.offers("browser.keep")) != 1 {
			t.Fatalf("it cannot be asked: %s", owner.text())
		}
		owner.do("browser.keep", said)
	}
	ask(object{"kept": false})
	owner.says("keep.no", "keep.refused")
	ask(object{})
	owner.says("keep.no", "keep.refused")
	ask(object{"kept": true})
	owner.says("keep.yes")
	owner.saysNot("keep.no")
	owner.refused("browser.keep", object{"kept": "maybe"}, "malformed")
	owner.visit("/")
	owner.do("browser.keep", object{"kept": false})
	owner.saysNot("keep.refused")
}

// TestUnsentForDays: from the third day on, entries that only this phone has need attention on
// every screen, and the page about it says for how long they have waited.
func TestUnsentForDays(t *testing.T) {
	const hourMS = 3_600_000
	owner := newHouse(t).owner()
	owner.exchange()
	owner.wait(9 * 24 * hourMS) // nothing waits, however long ago it was sent
	owner.visit("/")
	owner.saysNot("state.attention")
	online := owner.offline()
	owner.addClient("Ira K.")
	owner.wait(72*hourMS - 60_000)
	owner.visit("/")
	owner.saysNot("state.attention")
	owner.wait(60_000)
	owner.addClient("Ben N.")
	owner.visit("/")
	owner.says("state.attention")
	owner.visit("/sync")
	if late := owner.texts("sync.late"); len(late) != 1 || late[0]["n"] != 3.0 {
		t.Errorf("it has waited %v, want 3 days", late)
	}
	online()
	owner.exchange()
	owner.visit("/sync")
	owner.says("state.sent")
	owner.saysNot("sync.late")
}
