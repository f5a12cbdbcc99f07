package sessions

import "evenhold/sync/record"

// Referral is a decision by which an exercise waits for a clinician's look, and the look
// once it was noted.
type Referral struct {
	_ [0]func()
	Decision
	ClearedMS int64 // when the look was noted; 0 while the exercise waits
	Note, By  string
}

// IsOpen reports whether the exercise still waits.
func (r Referral) IsOpen() bool { return r.ClearedMS == 0 }

// Held reports whether an exercise of that step waited at an instant.
func (r Referral) Held(step string, atMS int64) bool {
	return r.Step == step && r.AtMS <= atMS && (r.IsOpen() || atMS < r.ClearedMS)
}

// Referrals returns the decisions of a client document by which exercises wait or waited,
// oldest first.
func Referrals(d *record.Doc) []Referral {
	var all []Referral
	for _, made := range Decisions(d) {
		if made.Waits {
			all = append(all, Referral{Decision: made})
		}
	}
	for _, r := range live(d, KindClear) {
		for i := range all {
			if all[i].ID.String() == text(r, "decision") && all[i].IsOpen() {
				all[i].ClearedMS = max(number(r, "atMS"), 1)
				all[i].Note, all[i].By = text(r, "note"), text(r, "by")
			}
		}
	}
	return all
}

// ClearReferralValues returns the note of a clinician's look at a referred exercise as the
// fields of a new record of KindClear.
func ClearReferralValues(seen Referral, note, by string, atMS int64) []record.FieldValue {
	var f fields
	f.text("decision", seen.ID.String())
	f.text("note", note)
	f.text("by", by)
	f.count("atMS", atMS)
	return f
}

// AskedTest returns the latest decision to test again that no test has followed, and false
// if there is none.
func AskedTest(d *record.Doc, tests []Test) (Decision, bool) {
	all := Decisions(d)
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].Chosen != ChosenRetest {
			continue
		}
		isFollowed := len(tests) > 0 && tests[len(tests)-1].StartedMS >= all[i].AtMS
		return all[i], !isFollowed
	}
	return Decision{}, false
}
