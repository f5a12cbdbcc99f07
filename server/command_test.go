package main

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/server/backup"
	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// told runs a command on a data folder and returns its exit code and all it printed.
func told(t *testing.T, data string, args ...string) (int, string) {
	t.Helper()
	var out, errOut output
	args = append(args, "--data", data)
	code := run(t.Context(), args, noEnv, &out, &errOut)
	return code, out.String() + errOut.String()
}

// must is told for a command that succeeds.
func must(t *testing.T, data string, args ...string) string {
	t.Helper()
	code, text := told(t, data, args...)
	if code != exitOK {
		t.Fatalf("%v: %d\n%s", args, code, text)
	}
	return text
}

// phone is the core's own end of the exchange, over the network to a real server.
type phone struct {
	t      *testing.T
	server *running
	cookie *http.Cookie
	*exchange.Phone
	nowMS int64
	gone  []wire.Gone

	renewed int
}

// join lets a phone in with the link that a command or the server printed.
func join(t *testing.T, r *running, printed string, device clock.Device, nowMS int64) *phone {
	t.Helper()
	_, code, found := strings.Cut(regexp.MustCompile(`/join#\S+`).FindString(printed), "#")
	if !found {
		t.Fatalf("no link in:\n%s", printed)
	}
	body := fmt.Sprintf(`{"code":%q,"device":%q,"name":"Robin Example","practice":"Example Practice"}`,
		code, device)
	resp, err := http.Post(r.url()+"/api/join", "application/json", strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK || len(resp.Cookies()) != 1 {
		t.Fatalf("join: %s, %v", resp.Status, resp.Cookies())
	}
	return &phone{t: t, server: r, cookie: resp.Cookies()[0], nowMS: nowMS,
		Phone: exchange.NewPhone(exchange.State{Device: device}, nil)}
}

// ask sends one request with the phone's cookie or a token.
func (p *phone) ask(path, kind, token string, body []byte) []byte {
	p.t.Helper()
	answer, err := p.try(path, kind, token, body)
	if err != nil {
		p.t.Fatal(err)
	}
	return answer
}

// try is ask for a server that may fail.
func (p *phone) try(path, kind, token string, body []byte) ([]byte, error) {
	p.t.Helper()
	q, err := http.NewRequest(http.MethodPost, p.server.url()+path, bytes.NewReader(body))
	if err != nil {
		p.t.Fatal(err)
	}
	q.AddCookie(p.cookie)
	q.Header.Set("Content-Type", kind)
	q.Header.Set("Authorization", "Bearer "+token)
	resp, err := http.DefaultClient.Do(q)
	if err != nil {
		return nil, err
	}
	defer resp.Body.Close()
	answer, err := io.ReadAll(resp.Body)
	if err != nil {
		return nil, err
	}
	if resp.StatusCode != http.StatusOK {
		return nil, refused{resp.StatusCode, path + ": " + string(answer)}
	}
	for _, c := range resp.Cookies() {
		p.cookie = c
	}
	return answer, nil
}

// refused is an answer that is none.
type refused struct {
	status int
	text   string
}

func (r refused) Error() string { return fmt.Sprintf("%d %s", r.status, r.text) }

// token fetches an access token.
func (p *phone) token() string {
	p.t.Helper()
	signed, err := p.tryToken()
	if err != nil {
		p.t.Fatal(err)
	}
	return signed
}

// tryToken is token for a server that may fail.
func (p *phone) tryToken() (string, error) {
	p.t.Helper()
	var signed struct{ Access string }
	body, err := p.try("/api/token", "application/json", "", []byte("{}"))
	if err != nil {
		return "", err
	}
	return signed.Access, json.Unmarshal(body, &signed)
}

// sync exchanges until there is no more to say. A phone whose server was set back to before
// what is erased from the phone takes another identity, as the app does.
func (p *phone) sync() {
	p.t.Helper()
	signed := p.token()
	for range 200 {
		q := p.Request(p.nowMS, exchange.Limits{Push: wire.MaxPush, Pulls: wire.MaxPulls})
		answer := p.ask("/api/sync", "application/vnd.evenhold.sync", signed, q.Append(nil))
		resp, err := p.Read(answer)
		if err != nil {
			p.t.Fatal(err)
		}
		out, err := p.Handle(resp, p.nowMS)
		if err != nil || !out.IsForked && out.Problem != "" {
			p.t.Fatalf("%+v, %v", out, err)
		}
		if out.IsForked {
			device := p.Author().Device() + 1<<20
			body := fmt.Appendf(nil, `{"device":%q}`, device)
			p.ask("/api/device", "application/json", signed, body)
			p.Renew(device)
			p.renewed++
			signed = p.token()
			continue
		}
		p.gone = append(p.gone, out.Gone...)
		if !out.IsMore {
			return
		}
	}
	p.t.Fatal("the exchange does not end")
}

// write begins a client record with a name, or adds to one.
func (p *phone) write(doc record.ID, name string) record.ID {
	p.t.Helper()
	kind, field := sessions.KindSession, "painPlace"
	if doc.IsZero() {
		doc, kind, field = p.Author().NextID(), sessions.KindClient, "name"
	}
	fields := []record.FieldValue{{Field: field, Value: record.Text(name)}}
	_, _, err := p.Author().Create(p.Open(doc), kind, fields, p.WallMS(p.nowMS))
	if err != nil {
		p.t.Fatal(err)
	}
	return doc
}

func (p *phone) digest(doc record.ID) string {
	d, _ := p.Doc(doc)
	return fmt.Sprintf("%d %x", d.Len(), d.Digest())
}

// TestRestore_PhonesFillTheGap is the drill: a practice works, is backed up, works on, loses its
// disk, and is restored on an empty folder with the commands of the README. Whatever phones had
// sent after the backup comes back from them, to the server and to each other.
func TestRestore_PhonesFillTheGap(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data)
	r.url()
	now := nowMS()
	owner := join(t, r, r.out.String(), 0x1111, now)
	owner.sync()
	coach := join(t, r, must(t, data, "invite", "--role", "coach"), 0x2222, now)
	coach.sync()
	alex := owner.write(record.ID{}, "Alex Example")
	owner.sync()
	path := strings.Fields(must(t, data, "backup"))[0]
	away := filepath.Join(t.TempDir(), filepath.Base(path))
	if err := os.Rename(path, away); err != nil {
		t.Fatal(err)
	}
	if code, text := told(t, data, "restore", away); code != exitFailure ||
		!strings.Contains(text, "another evenhold is using it") {
		t.Errorf("restore over a running server: %d %s", code, text)
	}
	owner.write(alex, "in the gap, by the owner")
	owner.sync()
	coach.sync()
	coach.write(alex, "in the gap, by the coach")
	coach.sync()
	coach.write(alex, "not sent yet")
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}
	if err := os.RemoveAll(data); err != nil {
		t.Fatal(err)
	}
	must(t, data, "restore", away)
	r = start(t, data)
	owner.server, coach.server = r, r
	for range 2 {
		owner.sync()
		coach.sync()
	}
	if owner.digest(alex) != coach.digest(alex) || !strings.HasPrefix(owner.digest(alex), "4 ") {
		t.Errorf("owner has %s, coach %s; want 4 operations alike", owner.digest(alex),
			coach.digest(alex))
	}
	if owner.Unsent() != 0 || coach.Unsent() != 0 || owner.renewed+coach.renewed != 0 {
		t.Errorf("unsent: %d and %d; or they took other identities", owner.Unsent(), coach.Unsent())
	}
	// An owner who has lost every phone comes back in by the command, and finds everything.
	again := join(t, r, must(t, data, "invite", "--role", "owner"), 0x4444, now)
	again.sync()
	if again.digest(alex) != owner.digest(alex) {
		t.Errorf("the owner's new phone has %s, want %s", again.digest(alex), owner.digest(alex))
	}
	third := join(t, r, must(t, data, "invite", "--role", "assistant"), 0x3333, now)
	third.sync()
	if third.digest(alex) != owner.digest(alex) {
		t.Errorf("a new phone has %s, want %s", third.digest(alex), owner.digest(alex))
	}
	must(t, data, "check")
}

// TestErase_EverywhereForGood: after the command no byte of the person is in the data folder, in
// backups there, in a backup of before the erasure once it is restored, or on a phone; and a
// phone that still had work for it brings nothing back.
func TestErase_EverywhereForGood(t *testing.T) {
	const marker = "MARKER-OF-A-PERSON"
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data)
	r.url()
	owner := join(t, r, r.out.String(), 0x1111, nowMS())
	owner.sync()
	coach := join(t, r, must(t, data, "invite", "--role", "coach"), 0x2222, owner.nowMS)
	kim, alex := owner.write(record.ID{}, marker), owner.write(record.ID{}, "Alex Example")
	owner.sync()
	coach.sync()
	client := join(t, r, must(t, data, "invite", "--record", kim.String(), "--name", marker), 0x3333,
		owner.nowMS)
	client.sync()
	coach.write(kim, marker+" unsent")
	path := strings.Fields(must(t, data, "backup"))[0]
	off := filepath.Join(t.TempDir(), filepath.Base(path)) // a copy on another machine
	copyFile(t, path, off)
	if text := must(t, data, "erase", kim.String()); !strings.Contains(text, "Nothing was erased") {
		t.Errorf("without --yes: %s", text)
	}
	must(t, data, "erase", kim.String(), "--yes")
	none(t, data, marker)
	for _, p := range []*phone{owner, coach, client} {
		p.sync()
		p.sync()
		if _, isHeld := p.Doc(kim); isHeld || p.Unsent() != 0 || len(p.Refused()) != 0 ||
			len(p.gone) != 1 || p.gone[0].Reason != wire.CodeErased {
			t.Errorf("a phone holds it %v, unsent %d, refused %d, gone %v", isHeld, p.Unsent(),
				len(p.Refused()), p.gone)
		}
	}
	if _, isHeld := owner.Doc(alex); !isHeld {
		t.Error("another record went with it")
	}
	must(t, data, "check")
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}
	must(t, data, "restore", off)
	none(t, data, marker)
	r = start(t, data)
	for _, p := range []*phone{owner, coach} {
		p.server = r
		p.sync()
	}
	if text := must(t, data, "people"); strings.Contains(text, marker) ||
		!strings.Contains(text, "Alex Example") {
		t.Errorf("after the restore:\n%s", text)
	}
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}
	none(t, data, marker)
}

// none searches every file of a folder, and what the backups among them hold, for a text.
func none(t *testing.T, folder, text string) {
	t.Helper()
	searched := 0
	err := filepath.WalkDir(folder, func(path string, d os.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		content, err := os.ReadFile(path)
		if _, isBackup := backup.MadeAt(path); isBackup == nil && err == nil {
			content, err = exec.Command("tar", "-xzOf", path).Output()
		}
		if bytes.Contains(content, []byte(text)) {
			t.Errorf("%s still holds %s", path, text)
		}
		searched++
		return err
	})
	if err != nil || searched < 3 {
		t.Errorf("searched %d files, %v", searched, err)
	}
}

func copyFile(t *testing.T, from, to string) {
	t.Helper()
	content, err := os.ReadFile(from)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(to, content, 0o600); err != nil {
		t.Fatal(err)
	}
}

// TestCommands_BesideAServer: the everyday commands work while the server runs.
func TestCommands_BesideAServer(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data)
	r.url()
	owner := join(t, r, r.out.String(), 0x1111, nowMS())
	owner.sync()
	alex := owner.write(record.ID{}, "Alex Example")
	owner.sync()
	if text := must(t, data, "people"); !strings.Contains(text, `"Alex Example"`) ||
		!strings.Contains(text, "owner") {
		t.Errorf("people:\n%s", text)
	}
	out := filepath.Join(t.TempDir(), "alex.zip")
	must(t, data, "export", alex.String(), "--out", out)
	z, err := zip.OpenReader(out)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	f, err := z.Open("person.json")
	if err != nil {
		t.Fatal(err)
	}
	var held struct {
		Entries []struct{ Field, Value string }
	}
	if err := json.NewDecoder(f).Decode(&held); err != nil || len(held.Entries) != 1 ||
		held.Entries[0].Value != "Alex Example" || held.Entries[0].Field != "name" {
		t.Errorf("exported %+v, %v", held, err)
	}
	if text := must(t, data, "retention", "--months", "1"); !strings.Contains(text, "Every record") {
		t.Errorf("retention: %s", text)
	}
	device := clock.Device(0x1111).String()
	if text := must(t, data, "devices"); !strings.Contains(text, device) {
		t.Errorf("devices:\n%s", text)
	}
	must(t, data, "devices", "--revoke", device)
	q, err := http.NewRequest(http.MethodPost, r.url()+"/api/token", strings.NewReader("{}"))
	if err != nil {
		t.Fatal(err)
	}
	q.Header.Set("Content-Type", "application/json")
	q.AddCookie(owner.cookie)
	resp, err := http.DefaultClient.Do(q)
	if err != nil || resp.StatusCode < 400 || resp.StatusCode == http.StatusUnsupportedMediaType {
		t.Errorf("a phone that was shut out: %v, %v", resp.StatusCode, err)
	}
	_ = resp.Body.Close() // only the status is of interest
	code, text := told(t, data, "doctor")
	if code != exitFaults && code != exitOK || strings.Contains(text, "LOOK  server") ||
		!strings.Contains(text, "well  key") {
		t.Errorf("doctor: %d\n%s", code, text)
	}
	if code, text := told(t, data, "erase", "nobody", "--yes"); code != exitFailure ||
		!strings.Contains(text, "nobody has the id") {
		t.Errorf("erase: %d %s", code, text)
	}
}
