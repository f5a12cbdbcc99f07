package main

import (
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/prometheus/client_golang/prometheus/testutil/promlint"
	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"

	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// scrape reads the metrics as a monitoring program does: its own reader takes them apart and its
// own check of names and units has nothing to say. Numbers go by name and label.
func (r *running) scrape() (numbers map[string]float64, text string) {
	r.t.Helper()
	url := "http://" + r.said("metrics") + "/metrics"
	resp, err := http.Get(url)
	if err != nil {
		r.t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != http.StatusOK {
		r.t.Fatalf("%s: %d, %v", url, resp.StatusCode, err)
	}
	problems, err := promlint.New(bytes.NewReader(body)).Lint()
	if err != nil || len(problems) != 0 {
		r.t.Errorf("%v, %v in\n%s", problems, err, body)
	}
	parser := expfmt.NewTextParser(model.LegacyValidation)
	families, err := parser.TextToMetricFamilies(bytes.NewReader(body))
	if err != nil {
		r.t.Fatal(err)
	}
	numbers = map[string]float64{}
	for name, family := range families {
		for _, m := range family.Metric {
			key := name
			for _, l := range m.Label {
				key += " " + l.GetValue()
			}
			numbers[key] = m.GetCounter().GetValue() + m.GetGauge().GetValue()
		}
	}
	return numbers, string(body)
}

// said waits for the log to name the address that something is served on.
func (r *running) said(what string) string {
	r.t.Helper()
	line := regexp.MustCompile(`msg="serving ` + what + `" addr=(\S+)`)
	var found []string
	eventually(r.t, "the log names an address", func() bool {
		found = line.FindStringSubmatch(r.err.String())
		return found != nil
	})
	return found[1]
}

// eventually waits until is says so; the machine may be slow.
func eventually(t *testing.T, what string, is func() bool) {
	t.Helper()
	for stop := time.Now().Add(45 * time.Second); time.Now().Before(stop); {
		if is() {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatal("never happened: " + what)
}

// listen opens the phone's socket, which the test's end closes.
func (p *phone) listen() *websocket.Conn {
	p.t.Helper()
	var made struct{ Ticket string }
	answer := p.ask("/api/ticket", "", p.token(), nil)
	if err := json.Unmarshal(answer, &made); err != nil {
		p.t.Fatal(err)
	}
	url := "ws" + strings.TrimPrefix(p.server.url(), "http") + "/api/live"
	conn, _, err := websocket.DefaultDialer.Dial(url, nil)
	if err != nil {
		p.t.Fatal(err)
	}
	p.t.Cleanup(func() { _ = conn.Close() }) // the server may have closed it
	if err := conn.WriteMessage(websocket.TextMessage, []byte(made.Ticket)); err != nil {
		p.t.Fatal(err)
	}
	return conn
}

// TestMetrics: a push, a refusal and a socket show in the numbers, next to file, disk and backup;
// nothing in them names anybody or any record.
func TestMetrics(t *testing.T) {
	r := start(t, filepath.Join(t.TempDir(), "data"), "--metrics", ":0")
	r.url()
	if addr := r.said("metrics"); !strings.HasPrefix(addr, "127.0.0.1:") {
		t.Errorf("a port alone is open on %s", addr)
	}
	owner, doc := claimed(t, r)
	owner.write(doc, "NOTE-SECRET-42")
	future := []record.FieldValue{{Field: "painPlace", Value: record.Text("NOTE-SECRET-42")}}
	ahead := owner.nowMS + 400*24*time.Hour.Milliseconds()
	if _, _, err := owner.Author().Create(owner.Open(doc), "session", future, ahead); err != nil {
		t.Fatal(err)
	}
	owner.sync()
	owner.listen()
	d, _ := owner.Doc(doc)
	var got map[string]float64
	var text string
	eventually(t, "the socket is counted", func() bool {
		got, text = r.scrape()
		return got["evenhold_sockets"] == 1
	})
	kept := float64(d.Len())
	if got["evenhold_operations_acknowledged_total"] != kept || kept < 3 {
		t.Errorf("%v operations are said to be acknowledged, the phone knows of %v",
			got["evenhold_operations_acknowledged_total"], kept)
	}
	for _, code := range wire.Codes() {
		want := 0.0
		if code == wire.CodeFuture {
			want = 1
		}
		if n, has := got["evenhold_operations_refused_total "+code]; !has || n != want {
			t.Errorf("refused as %s: %v (%v), want %v", code, n, has, want)
		}
	}
	for name, least := range map[string]float64{
		"evenhold_database_bytes": 4096, "evenhold_disk_free_bytes": 1,
		"evenhold_disk_reserve_bytes": 1, "evenhold_wal_bytes": 0, "evenhold_sockets_dropped_total": 0,
		"evenhold_last_check_timestamp_seconds": 0, "evenhold_last_check_faults": 0,
		"evenhold_requests_total 200": 4, "evenhold_last_backup_timestamp_seconds": 0,
	} {
		if n, has := got[name]; !has || n < least {
			t.Errorf("%s is %v (%v), want at least %v", name, n, has, least)
		}
	}
	for _, secret := range []string{"SECRET", "Robin", "Example", owner.Author().Device().String(),
		doc.String()} {
		if strings.Contains(text, secret) {
			t.Errorf("%q is in the metrics", secret)
		}
	}
	if got := get(t, r.url()+"/metrics"); got != http.StatusNotFound {
		t.Errorf("where phones come in, /metrics answers %d", got)
	}
	if code := r.end(); code != exitOK {
		t.Errorf("stopped with %d:\n%s", code, r.err.String())
	}
}

// TestMetrics_Door: with a certificate its end is told; where metrics are served is said in full
// or it is this machine.
func TestMetrics_Door(t *testing.T) {
	r := start(t, filepath.Join(t.TempDir(), "data"), "--metrics", "127.0.0.1:0", "--tls", "own",
		"--plain-addr", "127.0.0.1:0", "--public-url", "https://practice.home.arpa:8420")
	var got map[string]float64
	eventually(t, "the certificate has been looked at", func() bool {
		got, _ = r.scrape()
		return got["evenhold_certificate_end_timestamp_seconds"] != 0
	})
	left := time.Until(time.Unix(int64(got["evenhold_certificate_end_timestamp_seconds"]), 0))
	if years := left.Hours() / 24 / 365.25; years < 9.9 || years > 10.1 {
		t.Errorf("the authority is said to end in %.2f years, want 10", years)
	}
	for said, want := range map[string]string{"": "", ":8422": "127.0.0.1:8422",
		"0.0.0.0:8422": "0.0.0.0:8422", "[::1]:8422": "[::1]:8422"} {
		if addr, err := metricsAddr(said); addr != want || err != nil {
			t.Errorf("--metrics %q listens on %q, %v", said, addr, err)
		}
	}
	if _, err := metricsAddr("8422"); err == nil {
		t.Error("a number alone is taken for an address")
	}
	if code := r.end(); code != exitOK {
		t.Errorf("stopped with %d:\n%s", code, r.err.String())
	}
}
