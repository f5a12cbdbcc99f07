package api

import (
	"errors"
	"net/http"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/server/store"
	"evenhold/sync/clock"
)

// cookieName carries the prefix that browsers accept only from this very host,
// over a connection they trust, for the whole of it.
const cookieName = "__Host-evenhold"

// cookieLife is renewed with each access token. 400 days is as long as browsers
// keep one (from memory); a phone that was away longer needs a new invitation,
// and what is on it is still there.
const cookieLife = 400 * 24 * time.Hour

const maxNameRunes = 100

type lookAnswer struct {
	Role     sessions.Role `json:"role"`
	Person   string        `json:"person"` // the name; "" lets the person say it
	Practice string        `json:"practice"`
	Known    bool          `json:"known"` // the person has had a phone here before
}

// look tells what an invitation offers and does not use it up.
func (s *Server) look(w http.ResponseWriter, r *http.Request, _ store.Member) error {
	var asked struct {
		Code string `json:"code"`
	}
	if err := readJSON(r, &asked); err != nil {
		return err
	}
	inv, err := s.desk.Look(s.address(r), asked.Code)
	if err != nil {
		return err
	}
	practice, err := s.Store.Practice(r.Context())
	if err != nil {
		return err
	}
	return answerJSON(w, lookAnswer{Role: inv.Role, Person: inv.Name, Practice: practice.Name,
		Known: inv.Person != ""})
}

// install is what a phone says of itself when it wants an identity.
type install struct {
	Device string `json:"device"`
	Key    []byte `json:"key"`
}

// joining checks what the phone said, and makes its first secret.
func (i install) joining() (j store.Joining, secret string, err error) {
	j.Key = i.Key
	if j.Device, err = clock.ParseDevice(i.Device); err != nil {
		return j, "", fieldError{"device", "a device identity of 13 characters"}
	}
	if err := access.CheckKey(i.Key); err != nil {
		return j, "", fieldError{"key", "a point of P-256, uncompressed, or left out"}
	}
	secret, j.SecretHash = access.NewSecret()
	return j, secret, nil
}

type joinRequest struct {
	install
	Code     string `json:"code"`
	Name     string `json:"name"`
	Practice string `json:"practice"`
}

// join uses an invitation up: the phone gets its cookie and learns who it is for. Where a tap is
// needed it is told to wait, and asks again in the same words.
func (s *Server) join(w http.ResponseWriter, r *http.Request, _ store.Member) error {
	var asked joinRequest
	if err := readJSON(r, &asked); err != nil {
		return err
	}
	j, secret, err := asked.joining()
	if err != nil {
		return err
	}
	inv, err := s.desk.Look(s.address(r), asked.Code)
	if err != nil && problemOf(err).err != store.ErrUsed {
		return err
	}
	j.Phone, j.Address = phoneKind(r), s.address(r)
	if err == nil {
		if j.Name, j.Practice, err = asked.names(inv); err != nil {
			return err
		}
	}
	m, err := s.desk.Join(s.address(r), asked.Code, j)
	var waits store.Waits
	if errors.As(err, &waits) {
		return s.waiting(w, r, waits)
	}
	if err != nil {
		return err
	}
	if m.Person.Role == sessions.Owner && inv.Person == "" {
		s.Claimed()
	}
	return s.welcome(w, r, m, secret)
}

// names checks what the joining person says of themselves: their name where the
// invitation leaves it open, the practice's from its owner.
func (j joinRequest) names(inv store.Invitation) (person, practice string, err error) {
	if inv.Name == "" {
		if person, err = nameField("name", j.Name); err != nil {
			return "", "", err
		}
	}
	if inv.Role == sessions.Owner && inv.Person == "" {
		if practice, err = nameField("practice", j.Practice); err != nil {
			return "", "", err
		}
	}
	return person, practice, nil
}

func nameField(field, text string) (string, error) {
	text = strings.TrimSpace(text)
	if text == "" || !utf8.ValidString(text) || utf8.RuneCountInString(text) > maxNameRunes ||
		strings.ContainsFunc(text, unicode.IsControl) {
		return "", fieldError{field, "a name of 1 to 100 characters on one line"}
	}
	return text, nil
}

type personAnswer struct {
	ID   string        `json:"id"`
	Name string        `json:"name"`
	Role sessions.Role `json:"role"`
}

type practiceAnswer struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Doc  string `json:"doc,omitempty"` // not for clients, who do not see it
}

// identity is what a phone is told about whom and what it belongs to.
type identity struct {
	Person   personAnswer   `json:"person"`
	Practice practiceAnswer `json:"practice"`
	Doc      string         `json:"doc,omitempty"` // a client's own document
	Device   string         `json:"device"`
	Epoch    uint64         `json:"epoch"`
}

func (s *Server) identity(r *http.Request, m store.Member) (identity, error) {
	practice, err := s.Store.Practice(r.Context())
	if err != nil {
		return identity{}, err
	}
	epoch, err := s.Store.Epoch(r.Context())
	if err != nil {
		return identity{}, err
	}
	who := identity{
		Person:   personAnswer{m.Person.ID, m.Person.Name, m.Person.Role},
		Practice: practiceAnswer{ID: practice.ID, Name: practice.Name},
		Device:   m.Device.String(), Epoch: epoch,
	}
	if m.Person.Role != sessions.ClientOf {
		who.Practice.Doc = practice.Doc.String()
	}
	if !m.Person.Doc.IsZero() {
		who.Doc = m.Person.Doc.String()
	}
	return who, nil
}

// welcome hands a phone its secret and its identity.
func (s *Server) welcome(
	w http.ResponseWriter, r *http.Request, m store.Member, secret string,
) error {
	who, err := s.identity(r, m)
	if err != nil {
		return err
	}
	setCookie(w, secret, cookieLife)
	return answerJSON(w, who)
}

func setCookie(w http.ResponseWriter, secret string, life time.Duration) {
	http.SetCookie(w, &http.Cookie{
		Name: cookieName, Value: secret, Path: "/", MaxAge: int(life / time.Second),
		Secure: true, HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
}
