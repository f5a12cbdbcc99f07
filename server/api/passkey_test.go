package api

import (
	"crypto/ecdsa"
	"crypto/x509"
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/descope/virtualwebauthn"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// keyring is an authenticator with one passkey, and the site that it believes to be at. A library
// of its own plays it, after "Web Authentication: An API for accessing Public Key Credentials,
// Level 2", W3C, 2021.
type keyring struct {
	h    *house
	at   virtualwebauthn.RelyingParty
	auth virtualwebauthn.Authenticator
	key  virtualwebauthn.Credential
}

func (h *house) keyring() *keyring {
	return &keyring{
		h:    h,
		at:   virtualwebauthn.RelyingParty{Name: "Evenhold", ID: "practice.example", Origin: public},
		auth: virtualwebauthn.NewAuthenticator(),
		key:  newPasskey(h.t),
	}
}

// newPasskey leaves out keys with a short coordinate, one in 128: the library writes them without
// the leading zero that "CBOR Object Signing and Encryption (COSE)", RFC 8152, 2017, asks for in
// section 13.1.1.
func newPasskey(t testing.TB) virtualwebauthn.Credential {
	t.Helper()
	for {
		made := virtualwebauthn.NewCredential(virtualwebauthn.KeyTypeEC2)
		parsed, err := x509.ParsePKCS8PrivateKey(made.Key.Data)
		if err != nil {
			t.Fatal(err)
		}
		const full = 32 * 8
		key := parsed.(*ecdsa.PrivateKey)
		if key.X.BitLen() > full-8 && key.Y.BitLen() > full-8 {
			return made
		}
	}
}

// make answers the question that makes a passkey for p.
func (k *keyring) make(p *phone) json.RawMessage {
	k.h.t.Helper()
	a := k.h.ask(http.MethodPost, "/api/passkeys/new", nil, "Authorization", p.bearer())
	question, err := virtualwebauthn.ParseAttestationOptions(string(k.question(a)))
	if err != nil {
		k.h.t.Fatal(err)
	}
	k.auth.Options.UserHandle = []byte(question.UserID)
	return json.RawMessage(
		virtualwebauthn.CreateAttestationResponse(k.at, k.auth, k.key, *question))
}

// answer answers the question that any passkey answers.
func (k *keyring) answer() json.RawMessage {
	k.h.t.Helper()
	a := k.h.ask(http.MethodPost, "/api/passkeys/ask", nil)
	question, err := virtualwebauthn.ParseAssertionOptions(string(k.question(a)))
	if err != nil {
		k.h.t.Fatal(err)
	}
	return json.RawMessage(
		virtualwebauthn.CreateAssertionResponse(k.at, k.auth, k.key, *question))
}

func (k *keyring) question(a answer) json.RawMessage {
	k.h.t.Helper()
	var said passkeyAnswer
	if err := json.Unmarshal(a.body, &said); err != nil || a.status != http.StatusOK {
		k.h.t.Fatalf("question: %d %s %v", a.status, a.body, err)
	}
	return said.Passkey
}

func (h *house) keepPasskey(p *phone, made json.RawMessage) answer {
	return h.post("/api/passkeys", object{"passkey": made}, "Authorization", p.bearer())
}

func (h *house) comeBack(said json.RawMessage, device clock.Device) answer {
	return h.post("/api/passkeys/join", object{"passkey": said, "device": device.String()})
}

// withPasskey is a house with a coach who has made a passkey on phone 2.
func withPasskey(t *testing.T) (h *house, owner, coach *phone, k *keyring) {
	t.Helper()
	h = build(t, "")
	owner = h.owner(1)
	coach = owner.invite(sessions.Coach, record.ID{}, 2)
	k = h.keyring()
	if a := h.keepPasskey(coach, k.make(coach)); a.status != http.StatusNoContent {
		t.Fatalf("make: %d %s", a.status, a.body)
	}
	return h, owner, coach, k
}

// TestPasskey_ComesBack: whoever made a passkey comes back with it on a new phone as the same
// person, and on the old one under its own identity.
func TestPasskey_ComesBack(t *testing.T) {
	h, owner, coach, k := withPasskey(t)
	doc := owner.newClient("Alex Example")
	owner.sync()
	for _, device := range []clock.Device{7, 2} {
		k.key.Counter++
		a := h.comeBack(k.answer(), device)
		if a.status != http.StatusOK {
			t.Fatalf("come back: %d %s", a.status, a.body)
		}
		back := h.phone(a, device)
		if back.id.Person != coach.id.Person {
			t.Errorf("comes back as %v, was %v", back.id.Person, coach.id.Person)
		}
		back.sync()
		if _, found := back.Doc(doc); !found {
			t.Error("the records do not come")
		}
	}
}

// badPasskeys are answers that were not asked for, are another's, or are not right.
var badPasskeys = map[string]func(h *house, owner, coach *phone, k *keyring) answer{
	"told twice": func(h *house, _, _ *phone, k *keyring) answer {
		said := k.answer()
		if a := h.comeBack(said, 7); a.status != http.StatusOK {
			h.t.Fatalf("%d %s", a.status, a.body)
		}
		return h.comeBack(said, 8)
	},
	"too late": func(h *house, _, _ *phone, k *keyring) answer {
		said := k.answer()
		h.wait(access.PasskeyLife + time.Second)
		return h.comeBack(said, 7)
	},
	"another signature": func(h *house, _, _ *phone, k *keyring) answer {
		k.key.Key = newPasskey(h.t).Key
		return h.comeBack(k.answer(), 7)
	},
	"unknown": func(h *house, _, _ *phone, k *keyring) answer {
		k.key = newPasskey(h.t)
		return h.comeBack(k.answer(), 7)
	},
	"under another's name": func(h *house, owner, _ *phone, k *keyring) answer {
		k.auth.Options.UserHandle = []byte(owner.id.Person.ID)
		return h.comeBack(k.answer(), 7)
	},
	"given to another site": func(h *house, _, _ *phone, k *keyring) answer {
		k.at.Origin = "https://practice.example.evil.test"
		return h.comeBack(k.answer(), 7)
	},
	"for another name": func(h *house, _, _ *phone, k *keyring) answer {
		k.at.ID = "example"
		return h.comeBack(k.answer(), 7)
	},
	"nobody proved to be there": func(h *house, _, _ *phone, k *keyring) answer {
		k.auth.Options.UserNotVerified = true
		return h.comeBack(k.answer(), 7)
	},
	"a copy": func(h *house, _, _ *phone, k *keyring) answer {
		k.key.Counter = 5
		if a := h.comeBack(k.answer(), 7); a.status != http.StatusOK {
			h.t.Fatalf("%d %s", a.status, a.body)
		}
		k.key.Counter = 4
		return h.comeBack(k.answer(), 8)
	},
	"no answer at all": func(h *house, _, _ *phone, _ *keyring) answer {
		return h.comeBack(json.RawMessage(`{"id":"x"}`), 7)
	},
	"its phone is out": func(h *house, owner, coach *phone, k *keyring) answer {
		h.shutOut(owner, coach)
		return h.comeBack(k.answer(), 7)
	},
	"made by another": func(h *house, owner, _ *phone, _ *keyring) answer {
		other := h.keyring()
		made := other.make(owner)
		return h.keepPasskey(owner.invite(sessions.Coach, record.ID{}, 3), made)
	},
}

// TestPasskey_Refused: none of them lets anybody in.
func TestPasskey_Refused(t *testing.T) {
	for name, try := range badPasskeys {
		t.Run(name, func(t *testing.T) {
			h, owner, coach, k := withPasskey(t)
			a := try(h, owner, coach, k)
			if a.status != http.StatusForbidden || a.code(t) != "passkey" {
				t.Errorf("%d %s", a.status, a.body)
			}
			if strings.Contains(a.header.Get("Set-Cookie"), cookieName) {
				t.Error("a secret is handed out")
			}
		})
	}
}

// shutOut ends a phone's access.
func (h *house) shutOut(by, p *phone) {
	h.t.Helper()
	a := h.post("/api/phones/out", object{"device": p.id.Device}, "Authorization", by.bearer())
	if a.status >= http.StatusMultipleChoices {
		h.t.Fatalf("shut out: %d %s", a.status, a.body)
	}
}

// TestPasskey_Guessing: who tries with wrong passkeys is slowed as with wrong codes.
func TestPasskey_Guessing(t *testing.T) {
	h, _, _, k := withPasskey(t)
	k.key.Key = newPasskey(h.t).Key
	for range 20 {
		if a := h.comeBack(k.answer(), 7); a.status == http.StatusTooManyRequests {
			return
		}
	}
	t.Error("nobody is slowed")
}

// TestPasskey_IdentityInUse: nobody comes back under another's phone, nor under one that is out.
func TestPasskey_IdentityInUse(t *testing.T) {
	h, owner, _, k := withPasskey(t)
	old := owner.invite(sessions.Coach, record.ID{}, 3)
	h.shutOut(owner, old)
	for _, device := range []clock.Device{1, 3} {
		if a := h.comeBack(k.answer(), device); a.status != http.StatusConflict {
			t.Errorf("as phone %v: %d %s", device, a.status, a.body)
		}
	}
}

// TestPasskey_OneAPhone: one made again takes the place of the one before.
func TestPasskey_OneAPhone(t *testing.T) {
	h, _, coach, k := withPasskey(t)
	again := h.keyring()
	if a := h.keepPasskey(coach, again.make(coach)); a.status != http.StatusNoContent {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if a := h.comeBack(k.answer(), 7); a.status != http.StatusForbidden {
		t.Errorf("the first: %d %s", a.status, a.body)
	}
	if a := h.comeBack(again.answer(), 7); a.status != http.StatusOK {
		t.Errorf("the second: %d %s", a.status, a.body)
	}
}

// TestPasskey_Erased: nothing of a passkey is left when its person is erased; nobody comes in.
func TestPasskey_Erased(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	doc := owner.newClient("Alex Example")
	owner.sync()
	client := owner.invite(sessions.ClientOf, doc, 2)
	k := h.keyring()
	if a := h.keepPasskey(client, k.make(client)); a.status != http.StatusNoContent {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if _, err := h.store.Erase(doc, h.read().UnixMilli()); err != nil {
		t.Fatal(err)
	}
	if left, err := h.store.PasskeysOf(t.Context(), client.id.Person.ID); err != nil || left != nil {
		t.Errorf("left: %v %v", left, err)
	}
	if a := h.comeBack(k.answer(), 7); a.status != http.StatusForbidden {
		t.Errorf("%d %s", a.status, a.body)
	}
}

// TestPasskey_NoName: a server that is reached by a number says that it has none.
func TestPasskey_NoName(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	said := h.keyring().answer()
	for _, at := range []string{"https://192.0.2.7:8443", "https://[2001:db8::7]"} {
		none, err := access.NewPasskeys(h.server.Desk(), at)
		if err != nil {
			t.Fatal(err)
		}
		h.server.passkeys = none
		for path, body := range map[string]any{
			"/api/passkeys/ask": nil, "/api/passkeys/new": nil,
			"/api/passkeys/join": object{"passkey": said, "device": clock.Device(7).String()},
		} {
			a := h.post(path, body, "Authorization", owner.bearer())
			if a.status != http.StatusNotFound || a.code(t) != "no_passkeys" {
				t.Errorf("%s: %d %s", path, a.status, a.body)
			}
		}
	}
}
