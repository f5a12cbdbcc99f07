package main

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"evenhold/sync/record"
)

// logLine is one line of a log: its names and values as text.
type logLine map[string]string

// pair is name=value as log/slog writes it as text: a value with anything unusual in it is quoted
// as Go quotes ("TextHandler.Handle", documentation of log/slog).
var pair = regexp.MustCompile(`^([A-Za-z_]+)=("(?:[^"\\]|\\.)*"|[^\s"=]*)(?: |$)`)

// logLines takes a log apart, each line of it: it has a time in UTC, a level, a message, and a
// request's number if it is about one.
func logLines(t *testing.T, format, log string) (all []logLine) {
	t.Helper()
	for text := range strings.Lines(log) {
		line := logLine{}
		if text = strings.TrimSuffix(text, "\n"); format == logJSON {
			var values map[string]any
			if err := json.Unmarshal([]byte(text), &values); err != nil {
				t.Fatalf("%v: %s", err, text)
			}
			for name, value := range values {
				line[name] = fmt.Sprint(value)
			}
		}
		for rest := text; format == logText && rest != ""; {
			m := pair.FindStringSubmatch(rest)
			if m == nil {
				t.Fatalf("at %q: %s", rest, text)
			}
			line[m[1]], rest = m[2], rest[len(m[0]):]
			if plain, err := strconv.Unquote(m[2]); err == nil {
				line[m[1]] = plain
			}
		}
		at, err := time.Parse(time.RFC3339Nano, line["time"])
		if err != nil || !strings.HasSuffix(line["time"], "Z") || time.Since(at).Abs() > time.Hour {
			t.Errorf("the time is %q, %v", line["time"], err)
		}
		if logLevels[strings.ToLower(line["level"])].String() != line["level"] || line["msg"] == "" {
			t.Errorf("the level is %q, the message %q", line["level"], line["msg"])
		}
		if line["route"] != "" || line["code"] != "" {
			if !regexp.MustCompile(`^[0-9a-f]{16}$`).MatchString(line["request"]) {
				t.Errorf("the request is %q: %s", line["request"], text)
			}
		}
		all = append(all, line)
	}
	return all
}

// messages counts the lines of a log with a message.
func messages(lines []logLine, message string) (count int) {
	for _, line := range lines {
		if line["msg"] == message {
			count++
		}
	}
	return count
}

// TestLog_NothingPersonal: a practice joins, works, is listed, exported, backed up, looked at and
// erased from; what the server logged meanwhile has no name, note, code, secret, token or address,
// in both forms, and at the level that tells most.
func TestLog_NothingPersonal(t *testing.T) {
	for _, format := range []string{logText, logJSON} {
		t.Run(format, func(t *testing.T) { nothingPersonal(t, format) })
	}
}

func nothingPersonal(t *testing.T, format string) {
	const name, note = "NAME-SECRET-42", "NOTE-SECRET-42"
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data, "--log-format", format, "--log-level", "debug")
	url := r.url()
	link := r.out.String()
	owner := join(t, r, link, 0x1111, nowMS())
	first := owner.cookie.Value
	owner.sync()
	kim := owner.write(record.ID{}, name)
	owner.write(kim, note+"\r\nlevel=ERROR msg=forged")
	owner.sync()
	invited := must(t, data, "invite", "--record", kim.String(), "--name", name)
	client := join(t, r, invited, 0x3333, owner.nowMS)
	client.sync()
	signed := client.token()
	get(t, url+"/api/live?ticket="+signed)
	get(t, url+"/join/"+name+"?note="+note)
	get(t, url+"/api/"+name+"?note="+note)
	must(t, data, "people")
	must(t, data, "devices")
	must(t, data, "export", kim.String(), "--out", filepath.Join(t.TempDir(), "kim.zip"))
	must(t, data, "backup")
	must(t, data, "retention", "--months", "1")
	must(t, data, "erase", kim.String(), "--yes")
	owner.sync()
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}
	log := r.err.String()
	lines := logLines(t, format, log)
	if messages(lines, "request") < 10 || messages(lines, "problem") < 1 {
		t.Fatalf("the log has hardly a request, or no problem:\n%s", log)
	}
	_, code, _ := strings.Cut(strings.Fields(link[strings.Index(link, "/join#"):])[0], "#")
	_, second, _ := strings.Cut(strings.Fields(invited[strings.Index(invited, "/join#"):])[0], "#")
	for what, secret := range map[string]string{"a name": name, "a note": note,
		"a forged line": "forged", "the owner's name": "Robin", "the practice": "Example Practice",
		"the set-up code": code, "a client's code": second, "a first secret": first,
		"a secret": owner.cookie.Value, "a token": signed, "an address of a phone": "remote",
	} {
		if len(secret) < 5 || strings.Contains(log, secret) {
			t.Errorf("the log has %s, %q", what, secret)
		}
	}
}

// TestLog_Level: while the server runs, SIGUSR1 makes the log tell everything, and as little as
// before when it comes again.
func TestLog_Level(t *testing.T) {
	folder, err := built()
	if err != nil {
		t.Fatal(err)
	}
	r := &running{t: t, data: filepath.Join(t.TempDir(), "data")}
	server := exec.Command(filepath.Join(folder, "evenhold"), "serve", "--addr", "127.0.0.1:0",
		"--data", r.data, "--log-level", "error", "--log-format", "json")
	server.Stderr = &r.err
	if err := server.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = server.Process.Kill() }) // it has ended if all went well
	url := r.url()
	for _, want := range []struct{ to, requests int }{{0, 0}, {1, 1}, {2, 1}, {3, 2}} {
		if want.to > 0 {
			if err := server.Process.Signal(syscall.SIGUSR1); err != nil {
				t.Fatal(err)
			}
			eventually(t, "the log is switched", func() bool {
				return messages(logLines(t, logJSON, r.err.String()), "the log is switched") == want.to
			})
		}
		if got := get(t, url+"/api/nowhere"); got != http.StatusNotFound {
			t.Errorf("%d", got)
		}
		eventually(t, "what is asked for is told", func() bool {
			lines := logLines(t, logJSON, r.err.String())
			return messages(lines, "request") >= want.requests &&
				messages(lines, "problem") >= want.requests
		})
	}
	if err := server.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := server.Wait(); err != nil {
		t.Error(err)
	}
	lines := logLines(t, logJSON, r.err.String())
	if requests, problems := messages(lines, "request"), messages(lines, "problem"); requests != 2 ||
		problems != 2 || messages(lines, "stopped") != 1 {
		t.Errorf("%d requests and %d problems are told, want 2:\n%s", requests, problems,
			r.err.String())
	}
}

// TestLog_Faults: of what net/http says of connections what happened is kept, and not whom it
// happened to. The texts are those of net/http and crypto/tls, Go 1.26.
func TestLog_Faults(t *testing.T) {
	for text, want := range map[string]string{
		"http: TLS handshake error from 192.0.2.7:50312: remote error: tls: unknown certificate" +
			" authority": "http: TLS handshake error from tls: unknown certificate authority",
		"http: TLS handshake error from [2001:db8::7]:50312: EOF": "http: TLS handshake error from",
		"http: TLS handshake error from 192.0.2.7:5: read tcp 192.0.2.1:8420->192.0.2.7:5: read:" +
			" connection reset by peer": "http: TLS handshake error from",
		"http: TLS handshake error from 192.0.2.7:5: tls: no certificate for \"robin.example\"": "http:" +
			" TLS handshake error from tls: no certificate for",
		"http: panic serving [fe80::1%eth0]:5: Robin Example\ngoroutine 7": "http: panic serving",
	} {
		var said output
		faultLog(newLog(&said, logText, slog.LevelDebug)).Print(text)
		lines := logLines(t, logText, said.String())
		if len(lines) != 1 || lines[0]["what"] != want || lines[0]["level"] != "DEBUG" {
			t.Errorf("%q is told as %q", text, said.String())
		}
	}
}

// TestLog_Options: a form or a level that is none is told of before anything starts.
func TestLog_Options(t *testing.T) {
	for args, complaint := range map[string]string{"--log-format xml": "text or json",
		"--log-level loud": "debug, info, warn or error", "--log-level=": "debug, info"} {
		code, said := told(t, t.TempDir(), append([]string{"serve"}, strings.Fields(args)...)...)
		if code != exitUsage || !strings.Contains(said, complaint) {
			t.Errorf("%s: %d %s", args, code, said)
		}
	}
}
