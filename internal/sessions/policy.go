package sessions

import "slices"

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

// Roles returns every role, from the one that may most to the one that may least.
func Roles() []Role { return []Role{Owner, Coach, Assistant, ClientOf} }

// Right says which records of a kind a role may write.
type Right int

// A role writes no records of a kind, those that a device of the same person began, or any.
const (
	None Right = iota
	Own
	Any
)

// Rule is one row of the policy.
type Rule struct {
	// Kind is "" in the last row, for the kinds that this version does not know: they are for
	// owner and coach, so that a newer phone of theirs loses nothing.
	Kind string

	Fields     []string // to which the row is limited; nil for all that have no row before it
	InPractice bool     // whether such records stand in the practice document
	InClient   bool     // whether they stand in client documents

	owner, coach, assistant, client Right
}

// Of returns a role's right; None of a role that is not one.
func (r Rule) Of(role Role) Right {
	switch role {
	case Owner:
		return r.owner
	case Coach:
		return r.coach
	case Assistant:
		return r.assistant
	case ClientOf:
		return r.client
	}
	return None
}

// policy is who may write what: the owner keeps the practice, coaches prescribe and clear,
// assistants measure, clients write what they did themselves and which weights are at home,
// which only they know.
var policy = []Rule{
	{
		Kind: KindPractice, Fields: []string{FieldNoisePM, FieldNoiseFrom, FieldOwnSample},
		InPractice: true, owner: Any, coach: Any,
	},
	{Kind: KindPractice, InPractice: true, owner: Any},
	{Kind: KindImplement, InPractice: true, owner: Any, coach: Any},
	{Kind: KindSample, InPractice: true, owner: Any, coach: Any},
	{Kind: KindStep, InPractice: true, owner: Any, coach: Any},
	{Kind: KindClient, InClient: true, owner: Any, coach: Any, assistant: Any},
	{Kind: KindScreen, InClient: true, owner: Any, coach: Any, assistant: Any},
	{Kind: KindClear, InClient: true, owner: Any, coach: Any},
	{Kind: KindTest, InClient: true, owner: Any, coach: Any, assistant: Any},
	{Kind: KindTrial, InClient: true, owner: Any, coach: Any, assistant: Any},
	{Kind: KindTrunk, InClient: true, owner: Any, coach: Any, assistant: Any},
	{Kind: KindPlan, InClient: true, owner: Any, coach: Any},
	{
		Kind: KindItem, Fields: []string{FieldLoadWorksLeftG, FieldLoadWorksRightG},
		InClient: true, owner: Any, coach: Any, client: Any,
	},
	{Kind: KindItem, InClient: true, owner: Any, coach: Any},
	{Kind: KindDecision, InClient: true, owner: Any, coach: Any},
	{Kind: KindSession, InClient: true, owner: Any, coach: Any, assistant: Any, client: Own},
	{Kind: KindSet, InClient: true, owner: Any, coach: Any, assistant: Any, client: Own},
	{Kind: KindSame, InClient: true, owner: Any, coach: Any},
	{
		Kind: KindAuthor, InPractice: true, InClient: true,
		owner: Own, coach: Own, assistant: Own, client: Own,
	},
	{InPractice: true, InClient: true, owner: Any, coach: Any},
}

// Policy returns the rows of who may write what. The first that names a kind and field counts.
func Policy() []Rule { return slices.Clone(policy) }

// MayWrite reports whether a person of that role may write field of a record
// of that kind. own says that the record was made by a device of the same
// person.
//
// The server asks for every operation; the phone asks before it offers.
func MayWrite(role Role, kind, field string, own bool) bool {
	right := ruleOf(kind, field).Of(role)
	return right == Any || right == Own && own
}

// ruleOf returns the row that counts for a field of a kind.
func ruleOf(kind, field string) Rule {
	for _, r := range policy[:len(policy)-1] {
		if r.Kind == kind && (r.Fields == nil || slices.Contains(r.Fields, field)) {
			return r
		}
	}
	return policy[len(policy)-1]
}

// BelongsIn reports whether records of that kind stand in the practice document, or
// else in client documents. An author, and a kind that this version does not know, may
// stand in both.
func BelongsIn(kind string, isPractice bool) bool {
	r := ruleOf(kind, "")
	if isPractice {
		return r.InPractice
	}
	return r.InClient
}

// MayOpen reports whether a person of that role may start a new client record.
func MayOpen(role Role) bool {
	return role == Owner || role == Coach || role == Assistant
}
