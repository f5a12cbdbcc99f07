package sessions

// Role is what a person is in the practice. The server keeps it, outside every
// document that members write.
type Role string

// The closed list of roles.
const (
	Owner     Role = "owner"
	Coach     Role = "coach"
	Assistant Role = "assistant"
	ClientOf  Role = "client"
)

// clientFields lists what a client may write: own sessions and sets, and the
// two fields of a plan item that only the client knows, which weights are at
// home. own asks that the record was made by a device of the same person.
var clientFields = map[string]struct {
	own    bool
	fields []string
}{
	KindAuthor:  {own: true},
	KindSession: {own: true},
	KindSet:     {own: true},
	KindItem:    {fields: []string{FieldLoadWorksLeftG, FieldLoadWorksRightG}},
}

// assistantMayNot lists the kinds that an assistant reads but does not write:
// what is prescribed, what clears a red flag, what is joined, and what the practice sets.
var assistantMayNot = map[string]bool{
	KindPlan: true, KindItem: true, KindDecision: true, KindClear: true,
	KindSame: true, KindImplement: true, KindStep: true,
}

// MayWrite reports whether a person of that role may write field of a record
// of that kind. own says that the record was made by a device of the same
// person. Kinds and fields that this version does not know are for owner and
// coach only, so that a newer phone of theirs loses nothing.
//
// The server asks for every operation; the phone asks before it offers.
func MayWrite(role Role, kind, field string, own bool) bool {
	switch role {
	case Owner:
		return true
	case Coach:
		return kind != KindPractice || field == FieldNoisePM || field == FieldNoiseFrom
	case Assistant:
		return kind != KindPractice && !assistantMayNot[kind] && isKnown(kind)
	case ClientOf:
		rule, found := clientFields[kind]
		if !found || rule.own && !own {
			return false
		}
		if rule.fields == nil {
			return true
		}
		for _, f := range rule.fields {
			if f == field {
				return true
			}
		}
	}
	return false
}

// MayOpen reports whether a person of that role may start a new client record.
func MayOpen(role Role) bool {
	return role == Owner || role == Coach || role == Assistant
}
