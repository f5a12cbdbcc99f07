package api

import (
	"encoding/hex"
	"fmt"
	"net/http"
	"os"
	"strings"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// said returns the requests that a phone of a version of the wire format sent: bytes that the
// program of that time wrote, by name.
func said(t *testing.T, version int) map[string][]byte {
	t.Helper()
	text, err := os.ReadFile(fmt.Sprintf("testdata/phone.v%d.txt", version))
	if err != nil {
		t.Fatal(err)
	}
	requests := map[string][]byte{}
	for line := range strings.Lines(string(text)) {
		name, digits, _ := strings.Cut(strings.TrimSpace(line), " ")
		if requests[name], err = hex.DecodeString(digits); err != nil {
			t.Fatal(err)
		}
	}
	return requests
}

// TestSync_PhonesOfEarlierVersions replays what phones of earlier versions of the wire format
// sent: their work is taken in, also what this version has no name for, and a repeat changes
// nothing. Version 3 proves what it knows of its very server, so none can be kept for another.
func TestSync_PhonesOfEarlierVersions(t *testing.T) {
	for version := 1; version < wire.Version; version++ {
		h := build(t, "")
		p := h.owner(1)
		requests := said(t, version)
		for _, name := range []string{"first", "push", "push"} {
			if got := requests[name]; len(got) == 0 || int(got[0]) != version {
				t.Fatalf("version %d: %q is of another version", version, name)
			}
			a := h.ask(http.MethodPost, "/api/sync", requests[name], "Content-Type", typeSync,
				"Authorization", p.bearer())
			resp, err := wire.ParseResponse(a.body)
			if a.status != http.StatusOK || err != nil || resp.Problem != "" || len(resp.Verdicts) != 0 {
				t.Fatalf("version %d, %s: %d, %v, %+v", version, name, a.status, err, resp)
			}
		}
		doc, err := h.store.Document(t.Context(), record.ID{Device: 1, Seq: 1})
		if err != nil || doc.Len() != 6 {
			t.Fatalf("version %d: %d operations, %v; want 6", version, doc.Len(), err)
		}
		client := doc.Records(sessions.KindClient)[0]
		name, _ := client.Text("name")
		unknown, isKept := client.Bool("heldUpsideDown")
		pain, _ := doc.Records(sessions.KindSession)[0].Int("pain")
		if name != "Alex Example" || !unknown || !isKept || pain != 3 {
			t.Errorf("version %d: name %q, a field of another version %v, pain %d", version, name,
				unknown, pain)
		}
	}
}
