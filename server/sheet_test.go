package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const sheetApp = "https://practice.home.arpa:8420"

var sheetOwn = []string{"--tls", "own", "--plain-addr", "127.0.0.1:0", "--public-url", sheetApp}

// TestSheet: the page for the wall says what the server says, beside one that runs, and lets nobody
// in.
func TestSheet(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data)
	r.url()
	refuseSheets(t, data, r)
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}

	r = start(t, data, sheetOwn...)
	r.url()
	out := filepath.Join(t.TempDir(), "sheet.html")
	must(t, data, "sheet", "--language", "ar", "--out", out)
	if code, _ := told(t, data, "sheet", "--out", out); code != exitFailure {
		t.Error("a file that is there was overwritten")
	}
	page, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	flat := strings.NewReplacer("<wbr>", "", "</span> <span>", ":", " ", ":").Replace(string(page))
	said := r.out.String()
	print := strings.Fields(said[strings.Index(said, "Compare all of it:"):])[4]
	for _, has := range []string{sheetApp, "http://practice.home.arpa:0/", print, `dir="rtl"`} {
		if !strings.Contains(flat, has) {
			t.Errorf("the sheet lacks %s", has)
		}
	}
	if len(print) != 95 || strings.Contains(flat, "/join") {
		t.Errorf("fingerprint %q, or the sheet has a link that lets in", print)
	}
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}
}

// refuseSheets: no sheet is made of an address that phones cannot use, and none makes a
// certificate.
func refuseSheets(t *testing.T, data string, r *running) {
	t.Helper()
	named := append([]string{"sheet"}, sheetOwn...)
	if code, text := told(t, data, named...); code != exitFailure ||
		!strings.Contains(text, "no owner yet") {
		t.Errorf("before there is an owner: %d %s", code, text)
	}
	join(t, r, r.out.String(), 0x1111, nowMS())
	for _, address := range []string{"http://localhost:8420", "https://localhost:8420",
		"http://192.168.1.20:8420"} {
		if code, text := told(t, data, "sheet", "--public-url", address); code != exitUsage ||
			!strings.Contains(text, "phones cannot use "+address) {
			t.Errorf("%s: %d %s", address, code, text)
		}
	}
	if code, text := told(t, data, "sheet", "--public-url", sheetApp, "--language", "xx"); code !=
		exitUsage || !strings.Contains(text, "ar, en") {
		t.Errorf("a language without words: %d %s", code, text)
	}
	if text := must(t, data, "sheet", "--public-url", sheetApp); strings.Count(text, "<svg") != 1 ||
		!strings.Contains(text, "Example Practice") {
		t.Errorf("without a certificate of one's own:\n%s", text)
	}
	code, text := told(t, data, named...)
	_, err := os.Stat(filepath.Join(data, authorityName))
	if code != exitFailure || !strings.Contains(text, "no certificate of its own yet") || err == nil {
		t.Errorf("before there is a certificate: %d %s, %v", code, text, err)
	}
}
