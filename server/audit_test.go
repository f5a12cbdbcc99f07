package main

import (
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"evenhold/sync/record"
)

// TestAudit: the command lists the trail, or what of it names one record; names come from the list
// of people, and nothing of a record is in it.
func TestAudit(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data)
	r.url()
	owner := join(t, r, r.out.String(), 0x1111, nowMS())
	alex, kim := owner.write(record.ID{}, "Alex Example"), owner.write(record.ID{}, "Kim Example")
	owner.sync()
	coach := join(t, r, must(t, data, "invite", "--role", "coach", "--name", "Sam Example"), 0x2222,
		owner.nowMS)
	for range 3 {
		owner.write(kim, "shin")
		owner.sync()
		coach.sync()
	}
	all := must(t, data, "audit")
	for _, has := range []string{"join", "invite", "export"} {
		if strings.Contains(all, has) == (has == "export") {
			t.Errorf("%s in the trail:\n%s", has, all)
		}
	}
	one := must(t, data, "audit", kim.String())
	line := regexp.MustCompile(`(?m)^\d+ +\d{4}-\d\d-\d\d \d\d:\d\d:\d\d +read +` + kim.String() +
		` +ok +\w+ +"Sam Example" +` + coach.Author().Device().String() + `$`)
	if len(line.FindAllString(one, -1)) != 1 || strings.Count(one, "\n") != 2 {
		t.Errorf("three pulls of a record:\n%s", one)
	}
	if strings.Contains(one, alex.String()) || strings.Contains(all, "Kim") {
		t.Errorf("another record, or a client's name:\n%s", all)
	}
	if text := must(t, data, "audit", "nobody"); strings.Count(text, "\n") != 1 {
		t.Errorf("an id that is nobody's:\n%s", text)
	}
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}
}
