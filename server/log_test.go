package main

import (
	"path/filepath"
	"strings"
	"testing"

	"evenhold/sync/record"
)

// TestLog_NothingPersonal: a practice joins, works, is listed, exported, backed up, looked at and
// erased from; what the server logged meanwhile has no name, note, code, secret, token or address.
func TestLog_NothingPersonal(t *testing.T) {
	const name, note = "NAME-SECRET-42", "NOTE-SECRET-42"
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data)
	url := r.url()
	link := r.out.String()
	owner := join(t, r, link, 0x1111, nowMS())
	first := owner.cookie.Value
	owner.sync()
	kim := owner.write(record.ID{}, name)
	owner.write(kim, note+"\r\nlevel=ERROR msg=forged")
	owner.sync()
	invited := must(t, data, "invite", "--record", kim.String(), "--name", name)
	client := join(t, r, invited, 0x3333, owner.nowMS)
	client.sync()
	signed := client.token()
	get(t, url+"/api/live?ticket="+signed)
	get(t, url+"/join/"+name+"?note="+note)
	must(t, data, "people")
	must(t, data, "devices")
	must(t, data, "export", kim.String(), "--out", filepath.Join(t.TempDir(), "kim.zip"))
	must(t, data, "backup")
	must(t, data, "retention", "--months", "1")
	must(t, data, "erase", kim.String(), "--yes")
	owner.sync()
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}
	log := r.err.String()
	if strings.Count(log, "msg=request") < 10 {
		t.Fatalf("the log has hardly a request:\n%s", log)
	}
	_, code, _ := strings.Cut(strings.Fields(link[strings.Index(link, "/join#"):])[0], "#")
	_, second, _ := strings.Cut(strings.Fields(invited[strings.Index(invited, "/join#"):])[0], "#")
	for what, secret := range map[string]string{"a name": name, "a note": note,
		"a forged line": "forged", "the owner's name": "Robin", "the practice": "Example Practice",
		"the set-up code": code, "a client's code": second, "a first secret": first,
		"a secret": owner.cookie.Value, "a token": signed, "an address of a phone": "remote",
	} {
		if len(secret) < 5 || strings.Contains(log, secret) {
			t.Errorf("the log has %s, %q", what, secret)
		}
	}
}
