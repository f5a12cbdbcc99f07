package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"time"

	"evenhold/server/sheet"
	"evenhold/server/store"
)

var sheetCommand = command{
	name: "sheet", summary: "make a page to print for the wall", run: runSheet,
	about: "Makes one page to print and hang up: a square code that opens the app, with a\n" +
		"certificate of the practice's own also one for the page that gives it and the\n" +
		"fingerprint to compare, and what to do in four steps. It lets nobody in. It goes to\n" +
		"the terminal, or into --out; open that file in a browser and print it.",
	settings: slices.Concat(doorSettings, []string{"data", "language", "out", "backup-every",
		"backup-keep"}),
}

// runSheet writes the practice's sheet as a page.
func runSheet(c *call) error {
	o, err := c.options()
	if err != nil {
		return misuse("%v", err)
	}
	if !o.origins.IsSecure() || o.origins.IsLocal() {
		return misuse("phones cannot use %s: start the server under an address with https first"+
			" (--tls, --public-url), or give the address here", o.origins.Public())
	}
	facts, err := sheetFacts(c, o)
	if err != nil {
		return err
	}
	page, err := sheet.Page(facts, c.said["language"])
	if errors.Is(err, sheet.ErrLanguage) {
		return misuse("--language: %v", err)
	}
	if err != nil {
		return err
	}
	if c.said["out"] == "" {
		_, err = c.out.Write(page)
		return err
	}
	f, err := os.OpenFile(c.said["out"], os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(page)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	fmt.Fprintf(c.out, "The sheet is in %s: open it in a browser and print it.\n", c.said["out"])
	return nil
}

// sheetFacts reads what stands on the sheet. It makes no authority: phones would trust another one
// than the server has.
func sheetFacts(c *call, o options) (facts sheet.Facts, err error) {
	facts.App = o.origins.Public()
	err = c.with(func(s *store.Store) error {
		practice, err := s.Practice(c)
		facts.Practice = practice.Name
		return err
	})
	if err != nil {
		return facts, err
	}
	if facts.Practice == "" {
		return facts, errNoOwner
	}
	if o.door.mode != tlsOwn {
		return facts, nil
	}
	f := &folder{path: o.data}
	if _, err := os.Stat(f.file(authorityName)); errors.Is(err, fs.ErrNotExist) {
		return facts, errors.New("the practice has no certificate of its own yet; start the server" +
			" with --tls own")
	}
	d, err := openDoor(o, f, time.Now)
	if err != nil {
		return facts, err
	}
	facts.Print = d.authority.Fingerprint()
	facts.Plain, err = d.plainURL()
	return facts, err
}
