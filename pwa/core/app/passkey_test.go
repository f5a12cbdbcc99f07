package app_test

import (
	"encoding/json"
	"testing"

	"github.com/descope/virtualwebauthn"
)

// keyring is an authenticator with one passkey, of a library of its own, after "Web Authentication:
// An API for accessing Public Key Credentials, Level 2", W3C, 2021.
type keyring struct {
	at   virtualwebauthn.RelyingParty
	auth virtualwebauthn.Authenticator
	key  virtualwebauthn.Credential
}

func newKeyring() *keyring {
	return &keyring{
		at: virtualwebauthn.RelyingParty{
			Name: "Evenhold", ID: "practice.example", Origin: "https://practice.example",
		},
		auth: virtualwebauthn.NewAuthenticator(),
		key:  virtualwebauthn.NewCredential(virtualwebauthn.KeyTypeRSA),
	}
}

// answer is what the browser says to a question that the core hands out.
func (k *keyring) answer(t testing.TB, p *phone, asked answer) json.RawMessage {
	t.Helper()
	var q struct {
		Passkey json.RawMessage
		IsNew   bool
	}
	if err := json.Unmarshal(asked.Result, &q); err != nil {
		t.Fatalf("no question: %s %v", p.text(), err)
	}
	if !q.IsNew {
		question, err := virtualwebauthn.ParseAssertionOptions(string(q.Passkey))
		if err != nil {
			t.Fatal(err)
		}
		return json.RawMessage(
			virtualwebauthn.CreateAssertionResponse(k.at, k.auth, k.key, *question))
	}
	question, err := virtualwebauthn.ParseAttestationOptions(string(q.Passkey))
	if err != nil {
		t.Fatal(err)
	}
	k.auth.Options.UserHandle = []byte(question.UserID)
	return json.RawMessage(virtualwebauthn.CreateAttestationResponse(k.at, k.auth, k.key, *question))
}

// made is the owner's phone, on which a passkey was made.
func (h *house) made(k *keyring) *phone {
	h.t.Helper()
	owner := h.owner()
	if len(owner.offers("/passkey")) > 0 {
		h.t.Error("a passkey is offered where the phone has none")
	}
	owner.do("passkey.has", object{})
	owner.visit("/")
	owner.act("/passkey")
	owner.says("passkey.does", "passkey.name", "passkey.ends")
	said := k.answer(h.t, owner, owner.send("passkey.ask", object{}))
	owner.do("passkey.said", object{"said": said})
	owner.says("passkey.kept")
	owner.visit("/phones")
	owner.says("phones.passkey")
	return owner
}

// TestPasskey_NextPhone: a phone that has not joined comes back as the person of the passkey; what
// they did not want to do changes nothing.
func TestPasskey_NextPhone(t *testing.T) {
	h, k := newHouse(t), newKeyring()
	owner := h.made(k)
	doc := owner.addClient("Ira K.")
	owner.exchange()
	next := newPhone(t)
	next.house = h
	next.visit("/")
	if len(next.offers("passkey.ask")) > 0 {
		t.Error("a passkey is asked for where the phone has none")
	}
	next.do("passkey.has", object{})
	if len(next.offers("passkey.ask")) != 1 {
		t.Errorf("nothing to come back with: %s", next.text())
	}
	next.send("passkey.ask", object{})
	next.do("passkey.said", object{})
	next.says("passkey.not", "welcome.finding")
	said := k.answer(t, next, next.send("passkey.ask", object{}))
	next.do("passkey.said", object{"said": said})
	next.exchange()
	if next.digests()[doc] == "" || next.digests()[doc] != owner.digests()[doc] {
		t.Error("the records are not there")
	}
	// The same answer once more is good for nobody.
	third := newPhone(t)
	third.house = h
	third.do("passkey.has", object{})
	third.do("passkey.said", object{"said": said})
	third.says("problem.passkey", "welcome.trouble")
}

// TestPasskey_SameDevice: a phone that is signed in no more goes on under its own identity, and
// sends what it had not sent.
func TestPasskey_SameDevice(t *testing.T) {
	h, k := newHouse(t), newKeyring()
	owner := h.made(k)
	owner.exchange()
	unsent := owner.addClient("Ira K.")
	owner.send("sync.state", object{"state": "idle", "code": "signin"})
	owner.visit("/sync")
	owner.says("out.finding")
	if len(owner.offers("passkey.ask")) != 1 {
		t.Fatalf("nothing to come back with: %s", owner.text())
	}
	said := k.answer(t, owner, owner.send("passkey.ask", object{}))
	owner.do("passkey.said", object{"said": said})
	owner.visit("/sync")
	owner.saysNot("out.finding")
	owner.exchange()
	if docs, err := h.store.Documents(t.Context()); err != nil || len(docs) != 2 {
		t.Errorf("the server holds %v, %v; want the practice and the client", docs, err)
	}
	if owner.digests()[unsent] == "" {
		t.Error("what was not sent is gone")
	}
}
