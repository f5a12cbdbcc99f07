package api

import (
	"bytes"
	"encoding/base64"
	"net/http"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/server/dossier"
	"evenhold/sync/record"
)

// TestExport: owner, coach and the client get the file, byte for byte the one of the command, and
// nobody gets another's; each is on record.
func TestExport(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	alex, kim := owner.newClient("Alex Example"), owner.newClient("Kim Example")
	owner.sync()
	coach := owner.invite(sessions.Coach, record.ID{}, 2)
	client := owner.invite(sessions.ClientOf, alex, 3)
	ask := func(p *phone, doc string) answer {
		return h.post("/api/export", object{"doc": doc}, "Authorization", p.bearer())
	}
	for i, p := range []*phone{owner, coach, client} {
		want, err := dossier.Of(t.Context(), h.store, alex.String())
		if err != nil {
			t.Fatal(err)
		}
		a := ask(p, alex.String())
		if a.status != http.StatusOK {
			t.Fatalf("caller %d is answered %d", i, a.status)
		}
		described(t).check(t, "POST", "/api/export", a)
		got, err := base64.StdEncoding.DecodeString(a.json(t)["base64"].(string))
		if err != nil || !bytes.Equal(got, want.Zip) {
			t.Errorf("%d bytes, %v; the command gives %d", len(got), err, len(want.Zip))
		}
		again, err := dossier.Of(t.Context(), h.store, alex.String())
		if err != nil || bytes.Equal(again.Zip, want.Zip) {
			t.Errorf("the export is not on record (%v)", err)
		}
	}
	practice, err := h.store.Practice(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if a := ask(client, kim.String()); a.status != http.StatusForbidden {
		t.Errorf("a client asks for another: %d", a.status)
	}
	if a := ask(owner, practice.Doc.String()); a.status != http.StatusForbidden {
		t.Errorf("the practice's own: %d", a.status)
	}
	for _, doc := range []string{"?", record.ID{Device: 9, Seq: 9}.String()} {
		if a := ask(owner, doc); a.status != http.StatusUnprocessableEntity {
			t.Errorf("%q: %d", doc, a.status)
		}
	}
}
