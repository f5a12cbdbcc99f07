package app_test

import (
	"encoding/hex"
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"testing"

	"evenhold/pwa/core/app"
)

type rawJSON = json.RawMessage

// stored reads a row of JSON.
func (p *phone) stored(store, key string, into any) {
	p.t.Helper()
	text, is := p.rows[rowKey{store, key}].(rawJSON)
	if !is {
		p.t.Fatalf("%s/%s is not stored", store, key)
	}
	if err := json.Unmarshal(text, into); err != nil {
		p.t.Fatal(err)
	}
}

// open is reload for storage that holds a row that cannot be read; it returns the error.
func (p *phone) open() object {
	p.t.Helper()
	p.reload()
	return p.error
}

// TestRowsUnreadable damages one stored row at a time: the phone says so, touches nothing of it,
// and the rest opens and can be worked with.
func TestRowsUnreadable(t *testing.T) {
	p := newHouse(t).owner()
	p.offline()
	kept := p.addClient("Dov Q.", "massG", "70")
	p.screen(kept)
	p.takeTest(kept, 41_000, 50_000)
	p.act("/plan")
	p.do("plan.set", object{"item": 0, "field": "holdMS", "value": 5})
	hurt := p.addClient("Eve R.")
	p.prepare(hurt, "left")
	for i := range app.SnapshotAfter {
		p.do("person.save", object{"values": object{
			"name": "Eve R.", "massG": strconv.Itoa(50 + i%9)}})
	}
	for key, row := range p.rows {
		if key.store == "view" || key.store == "meta" && key.key == "me" {
			continue
		}
		p.rows[key] = damaged(row)
		t.Run(key.store+"/"+key.key, func(t *testing.T) {
			p.t = t
			fault := p.open()
			isState := key.store == "meta" && key.key == "exchange" // asked for again: no loss
			if !isState && (fault == nil || fault["code"] != "storage") {
				t.Errorf("opening says %v", fault)
			}
			if _, there := p.rows[key]; !there {
				t.Error("the damaged row was removed")
			}
			p.visit("/")
			p.visit("/sync")
			if !strings.Contains(key.key, kept) {
				p.visit("/p/" + kept)
				p.says("person.tests")
			}
			if !strings.Contains(key.key, hurt) {
				p.visit("/p/" + hurt)
				if p.view["head"].(object)["name"] != "Eve R." {
					t.Errorf("the other record does not open: %s", p.text())
				}
			}
		})
		p.t = t
		p.rows[key] = row
	}
}

// damaged is a row of which the end is lost, or whose kind is another.
func damaged(row any) any {
	if bytes, is := row.([]byte); is {
		return slices.Clone(bytes[:len(bytes)/2])
	}
	return rawJSON(`[true]`)
}

// TestIdentityUnreadable asks for the invitation again and keeps all that is stored.
func TestIdentityUnreadable(t *testing.T) {
	p := newHouse(t).owner()
	p.addClient("Fay S.")
	n := len(p.keys("log"))
	for name, row := range map[string]string{
		"another kind": `7`, "no identity": `{"device":"0000000000000","role":"owner"}`,
		"letters": `{"device":"somebody","role":"owner"}`,
	} {
		t.Run(name, func(t *testing.T) {
			p.t = t
			p.rows[rowKey{"meta", "me"}] = rawJSON(row)
			if fault := p.open(); fault == nil || fault["code"] != "storage" {
				t.Errorf("opening says %v", fault)
			}
			p.says("welcome.finding")
			p.visit("/sync")
			p.send("sync.request", object{})
			p.send("person.save", object{"values": object{"name": "Gus T."}})
			if len(p.keys("log")) != n {
				t.Error("stored entries were touched")
			}
		})
	}
}

// TestLogFoldsIntoSnapshot writes until the log is folded, and again: nothing is lost on the way.
func TestLogFoldsIntoSnapshot(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.planned("Hal U.")
	p.decideOn(doc)
	item := p.route[strings.LastIndex(p.route, "/")+1:]
	p.visit("/p/" + doc + "/edit") // a small screen
	folds, most := 0, 0
	for i := range 2*app.SnapshotAfter + 10 {
		had := len(p.logOf(doc))
		p.do("void", object{"record": item, "back": i%2 == 1}) // one entry
		if now := len(p.logOf(doc)); now < had {
			folds++
		} else {
			most = max(most, now)
		}
		if i%200 == 199 {
			before := p.digests()
			p.reload()
			same(t, "after a reload", p.digests(), before)
			p.visit("/p/" + doc + "/edit")
		}
	}
	if folds != 2 || most > app.SnapshotAfter {
		t.Errorf("%d folds, at most %d rows of log; want 2 and no more than %d", folds, most,
			app.SnapshotAfter)
	}
	before := p.digests()
	p.reload()
	same(t, "in the end", p.digests(), before)
	p.exchange()
	digest := p.house.document(doc).Digest()
	if got := p.digests()[doc]; got != hex.EncodeToString(digest[:]) {
		t.Errorf("the server holds %x, the phone %s", digest, got)
	}
}

func (p *phone) logOf(doc string) []string {
	keys := p.keys("log")
	return slices.DeleteFunc(keys, func(key string) bool { return !strings.HasPrefix(key, doc+"/") })
}
