package access

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/netip"
	"net/url"
	"sync"
	"time"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"

	"evenhold/server/store"
)

// PasskeyLife is how long a person has to answer the question for a passkey.
const PasskeyLife = 5 * time.Minute

// asksSize bounds the questions that are open at a time: who fills it makes the oldest end.
const asksSize = 1024

var (
	// ErrNoPasskeys says that under the server's address there can be none: the browser takes only
	// a name (Web Authentication Level 3, W3C, section 4, "RP ID").
	ErrNoPasskeys = errors.New("passkeys need a server with a name")
	// ErrPasskey says that a passkey is not known, has ended, or that its signature is not right.
	ErrPasskey = errors.New("this passkey lets nobody in")
)

// Passkeys makes and checks the passkeys with which a person comes back on a phone without an
// invitation. A signature is made for one question of this process and good for it once. It is
// safe for concurrent use.
type Passkeys struct {
	store *store.Store
	now   func() time.Time
	gate  *gate
	party *webauthn.WebAuthn // nil where the address has no name

	mu   sync.Mutex
	open map[string]passkeyAsk // by challenge
}

type passkeyAsk struct {
	session webauthn.SessionData
	end     time.Time
}

// NewPasskeys returns the keeper of the passkeys of a practice whose app is at publicURL. Whoever
// tries with wrong ones is slowed as with wrong codes at desk.
func NewPasskeys(desk *Desk, publicURL string) (*Passkeys, error) {
	p := &Passkeys{store: desk.store, now: desk.now, gate: desk.gate,
		open: map[string]passkeyAsk{}}
	at, err := url.Parse(publicURL)
	if err != nil {
		return nil, fmt.Errorf("passkeys: %w", err)
	}
	if _, err := netip.ParseAddr(at.Hostname()); err == nil {
		return p, nil
	}
	p.party, err = webauthn.New(&webauthn.Config{
		RPID: at.Hostname(), RPDisplayName: "Evenhold", RPOrigins: []string{publicURL},
		AttestationPreference: protocol.PreferNoAttestation,
		AuthenticatorSelection: protocol.AuthenticatorSelection{
			ResidentKey:      protocol.ResidentKeyRequirementRequired,
			UserVerification: protocol.VerificationRequired,
		},
	})
	if err != nil {
		return nil, fmt.Errorf("passkeys: %w", err)
	}
	return p, nil
}

// passkeyUser is a person as the authenticator knows them: by an identifier that says nothing, and
// by the name that the phone shows them to choose by.
type passkeyUser struct {
	id, name string
	records  []webauthn.Credential
}

func (u passkeyUser) WebAuthnID() []byte                         { return []byte(u.id) }
func (u passkeyUser) WebAuthnName() string                       { return u.name }
func (u passkeyUser) WebAuthnDisplayName() string                { return u.name }
func (u passkeyUser) WebAuthnCredentials() []webauthn.Credential { return u.records }

// AskNew returns the question that makes a passkey for m: the JSON form of
// PublicKeyCredentialCreationOptions (Web Authentication Level 3, W3C, section 5.1). It returns
// ErrNoPasskeys where there are none.
func (p *Passkeys) AskNew(m store.Member) (any, error) {
	if p.party == nil {
		return nil, ErrNoPasskeys
	}
	question, session, err := p.party.BeginRegistration(passkeyUser{m.Person.ID, m.Person.Name, nil})
	if err != nil {
		return nil, err
	}
	p.remember(*session)
	return question.Response, nil
}

// Made takes what the browser answered to AskNew and keeps the passkey for m. Errors: ErrPasskey,
// ErrNoPasskeys, and those of store.Store.SetPasskey.
func (p *Passkeys) Made(m store.Member, answer []byte) error {
	said, err := protocol.ParseCredentialCreationResponseBytes(answer)
	if err != nil {
		return errors.Join(ErrPasskey, err)
	}
	session, err := p.take(said.Response.CollectedClientData.Challenge)
	if err != nil {
		return err
	}
	// The question was for this very person: the library compares.
	made, err := p.party.CreateCredential(passkeyUser{id: m.Person.ID}, session, said)
	if err != nil {
		return errors.Join(ErrPasskey, err)
	}
	record, err := json.Marshal(made)
	if err != nil {
		return err
	}
	return p.store.SetPasskey(m, store.Passkey{ID: made.ID, Record: record}, p.now().UnixMilli())
}

// Ask returns the question that any passkey of this server may answer: the JSON form of
// PublicKeyCredentialRequestOptions. It returns ErrNoPasskeys where there are none.
func (p *Passkeys) Ask() (any, error) {
	if p.party == nil {
		return nil, ErrNoPasskeys
	}
	question, session, err := p.party.BeginDiscoverableLogin(
		webauthn.WithUserVerification(protocol.VerificationRequired))
	if err != nil {
		return nil, err
	}
	p.remember(*session)
	return question.Response, nil
}

// ComeBack takes what the browser answered to Ask and lets the person in on the phone of j. address
// is where it comes from. Errors: ErrPasskey, ErrNoPasskeys, ErrSlow, and store.ErrTaken if the
// phone's identity is another's.
func (p *Passkeys) ComeBack(
	ctx context.Context, address string, answer []byte, j store.Joining,
) (m store.Member, err error) {
	err = p.gate.pass(address, func() error {
		key, err := p.check(ctx, answer)
		if err != nil {
			return err
		}
		m, err = p.store.ComeBack(key, j, p.now().UnixMilli())
		if errors.Is(err, store.ErrNotFound) {
			return ErrPasskey
		}
		return err
	})
	return m, err
}

// check returns the passkey that answered, with what the use has changed of it.
func (p *Passkeys) check(ctx context.Context, answer []byte) (key store.Passkey, err error) {
	said, err := protocol.ParseCredentialRequestResponseBytes(answer)
	if err != nil {
		return key, errors.Join(ErrPasskey, err)
	}
	session, err := p.take(said.Response.CollectedClientData.Challenge)
	if err != nil {
		return key, err
	}
	find := func(id, person []byte) (webauthn.User, error) {
		u := passkeyUser{id: string(person)}
		known, err := p.store.PasskeysOf(ctx, u.id)
		if err != nil {
			return nil, err
		}
		for _, k := range known {
			if !bytes.Equal(k.ID, id) {
				continue
			}
			var record webauthn.Credential
			if err := json.Unmarshal(k.Record, &record); err != nil {
				return nil, err
			}
			key, u.records = k, []webauthn.Credential{record}
		}
		return u, nil
	}
	_, used, err := p.party.ValidatePasskeyLogin(find, session, said)
	if err != nil {
		return key, errors.Join(ErrPasskey, err)
	}
	if used.Authenticator.CloneWarning {
		return key, fmt.Errorf("%w: its counter went back, so there is a copy of it", ErrPasskey)
	}
	key.Record, err = json.Marshal(used)
	return key, err
}

func (p *Passkeys) remember(session webauthn.SessionData) {
	now := p.now()
	p.mu.Lock()
	defer p.mu.Unlock()
	first := ""
	for challenge, ask := range p.open {
		switch {
		case now.After(ask.end):
			delete(p.open, challenge)
		case first == "" || ask.end.Before(p.open[first].end):
			first = challenge
		}
	}
	if len(p.open) >= asksSize {
		delete(p.open, first)
	}
	p.open[session.Challenge] = passkeyAsk{session, now.Add(PasskeyLife)}
}

// take uses a question up.
func (p *Passkeys) take(challenge string) (webauthn.SessionData, error) {
	if p.party == nil {
		return webauthn.SessionData{}, ErrNoPasskeys
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	ask, found := p.open[challenge]
	delete(p.open, challenge)
	if !found || p.now().After(ask.end) {
		return webauthn.SessionData{}, fmt.Errorf("%w: nobody asked for it, or too long ago",
			ErrPasskey)
	}
	return ask.session, nil
}
