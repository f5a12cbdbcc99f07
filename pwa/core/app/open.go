package app

import (
	"cmp"
	"strings"

	"evenhold/internal/boundary"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// open takes in everything that the phone has stored. A row that cannot be read
// is told of; the rest opens.
func (a *App) open(answer *Answer) error {
	var args struct {
		Rows []struct {
			storedRow
			JSON boundary.RawMessage `json:"json"`
		} `json:"rows"`
		Blobs []storedRow `json:"blobs"`
		Phone browser     `json:"phone"`
		Route string      `json:"route"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	now := a.now
	a.reset()
	a.now, a.fresh = now, map[record.ID][]record.Operation{}
	a.browser = args.Phone
	state := ""
	var trouble error
	for _, row := range args.Rows {
		var err error
		switch {
		case row.Store == "meta" && row.Key == "me":
			err = a.openMe(row.JSON)
		case row.Store == "meta" && row.Key == "prefs":
			err = boundary.Unmarshal(row.JSON, &a.prefs)
		case row.Store == "meta" && row.Key == "exchange":
			err = boundary.Unmarshal(row.JSON, &state)
		case row.Store == "meta" && row.Key == "contact":
			err = boundary.Unmarshal(row.JSON, &a.link.contact)
		case row.Store == "meta" && row.Key == "sentMS":
			err = boundary.Unmarshal(row.JSON, &a.link.sentMS)
		case row.Store == "meta" && row.Key == "asking":
			err = boundary.Unmarshal(row.JSON, &a.asking)
		case row.Store == "run":
			err = a.openRun(row.Key, row.JSON)
		}
		if err != nil {
			trouble = errStorage
		}
	}
	if args.Route != "" {
		a.route = args.Route
	}
	if a.asking != nil {
		a.askIn()
	}
	if !a.me.hasJoined() {
		return trouble
	}
	answer.Sync = true
	trouble = cmp.Or(a.openDocs(args.Blobs, state), trouble)
	if trouble == nil {
		a.started()
	}
	return trouble
}

// openMe takes up who this phone belongs to. A row without a usable identity is
// as good as none.
func (a *App) openMe(raw boundary.RawMessage) error {
	var m me
	if err := boundary.Unmarshal(raw, &m); err != nil {
		return err
	}
	if _, err := clock.ParseDevice(m.Device); err != nil {
		return err
	}
	a.me = m
	return nil
}

// openRun takes up a test, session or draft where it was.
func (a *App) openRun(key string, raw boundary.RawMessage) error {
	kind, doc, _ := strings.Cut(key, ":")
	switch kind {
	case "test":
		var run sessions.TestRun
		if err := boundary.Unmarshal(raw, &run); err != nil {
			return err
		}
		a.tests[doc] = run
	case "work":
		var run sessions.WorkRun
		if err := boundary.Unmarshal(raw, &run); err != nil {
			return err
		}
		if !isSound(run) {
			return errStorage
		}
		a.works[doc] = run
	case "draft":
		var dr draft
		if err := boundary.Unmarshal(raw, &dr); err != nil {
			return err
		}
		a.drafts[doc] = dr
	}
	return nil
}

// isSound reports whether a stored session can be led on: a series of endless
// repetitions would never be laid out.
func isSound(run sessions.WorkRun) bool {
	for _, turn := range run.Turns {
		if progression.Check(progression.Reps, turn.Reps) != nil {
			return false
		}
	}
	return run.At >= 0
}

// digests returns each document's digest, so that two replicas can be compared.
func (a *App) digests(answer *Answer) error {
	all := map[string]string{}
	for _, d := range a.docs() {
		digest := d.Digest()
		all[d.ID().String()] = hexOf(digest[:])
	}
	answer.Result = all
	return nil
}
