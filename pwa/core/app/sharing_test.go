package app_test

import (
	"strings"
	"testing"
)

// TestClosedRecordLeavesThePhone: a coach whom the owner shuts out of a record is told why it
// left the phone, and no row of it stays.
func TestClosedRecordLeavesThePhone(t *testing.T) {
	h := newHouse(t)
	owner := h.owner()
	doc := owner.addClient("Ira K.", "massG", "70")
	owner.exchange()
	status, body := owner.asked("/api/invitations", object{"role": "coach", "name": "Kim"}, true)
	if status != 200 {
		t.Fatal(status, body)
	}
	coach := h.guest(body.(map[string]any)["code"].(string), "Kim")
	coach.exchange()
	coach.visit("/p/" + doc)
	status, body = owner.asked("/api/sharing/set", object{"doc": doc, "people": []string{}}, true)
	if status != 204 {
		t.Fatal(status, body)
	}
	coach.exchange()
	coach.says("sync.closed", "people.none")
	for key := range coach.rows {
		if key.key == doc || key.store == "log" && strings.HasPrefix(key.key, doc+"/") {
			t.Errorf("%s/%s is still there", key.store, key.key)
		}
	}
}
