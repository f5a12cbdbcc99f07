package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"time"

	"evenhold/server/access"
	"evenhold/server/demo"
	"evenhold/server/store"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// aPractice is what is measured after five years: 200 clients who never pause.
var aPractice = demo.Years{Clients: 200, Weeks: 5 * 52}

// What the README says that such a practice needs.
const (
	yearsFileLimit   = 4_000_000_000
	yearsBackupLimit = 1_500_000_000
	yearsMemoryLimit = 256 << 20
)

// fiveYears measures what a practice of years needs: its file, a start, a backup, and the first
// exchange of a new phone. Times are told beside reading, or copying, the file.
func fiveYears(b *bench) ([]row, error) {
	binary, err := b.program()
	if err != nil {
		return nil, err
	}
	data := filepath.Join(b.folder, "years")
	return yearsRows(binary, data, aPractice)
}

func yearsRows(binary, data string, y demo.Years) (rows []row, err error) {
	facts, token, err := grow(data, y)
	if err != nil {
		return nil, err
	}
	file := filepath.Join(data, "practice.db")
	info, err := os.Stat(file)
	if err != nil {
		return nil, err
	}
	rows = append(rows, limited("years, file", float64(info.Size()), "B", yearsFileLimit,
		fmt.Sprintf("%d weeks of %d clients, %d operations", y.Weeks, y.Clients, facts.Operations)))
	backup, err := backupRows(binary, data, file)
	if err != nil {
		return nil, err
	}
	rows = append(rows, backup...)
	started, err := startedRows(binary, data, file, token, facts.Operations)
	return append(rows, started...), err
}

// grow makes the practice and lets a further phone of the owner in, whose token it returns.
func grow(data string, y demo.Years) (facts store.Facts, token string, err error) {
	if err := os.Mkdir(data, 0o700); err != nil {
		return facts, "", err
	}
	kept, err := store.Open(filepath.Join(data, "practice.db"))
	if err != nil {
		return facts, "", err
	}
	defer func() { err = errors.Join(err, kept.Close()) }()
	key, err := access.OpenKey(filepath.Join(data, "key"))
	if err != nil {
		return facts, "", err
	}
	if err := y.Fill(time.Now().UnixMilli(), kept, key); err != nil {
		return facts, "", err
	}
	desk := access.NewDesk(kept, key, time.Now)
	code, _, err := desk.InviteOwner(context.Background())
	if err != nil {
		return facts, "", err
	}
	if _, token, err = letIn(desk, key, code, staffDevices); err != nil {
		return facts, "", err
	}
	facts, err = kept.Facts(context.Background())
	return facts, token, err
}

// backupRows makes a backup with the command that the README names, once: it takes minutes.
func backupRows(binary, data, file string) ([]row, error) {
	backups := filepath.Join(filepath.Dir(data), "backups")
	began := time.Now()
	text, err := exec.Command(binary, "backup", "--data", data, "--backups", backups).CombinedOutput()
	if err != nil {
		return nil, fmt.Errorf("backup: %w: %s", err, text)
	}
	spent := float64(time.Since(began))
	peer, err := copied(file, file+".copy")
	if err != nil {
		return nil, err
	}
	made, err := filepath.Glob(filepath.Join(backups, "*.tar.gz"))
	if err != nil {
		return nil, err
	}
	if len(made) != 1 {
		return nil, fmt.Errorf("%d backups were made, want 1", len(made))
	}
	info, err := os.Stat(made[0])
	if err != nil {
		return nil, err
	}
	return []row{
		limited("years, backup", float64(info.Size()), "B", yearsBackupLimit, ""),
		figure("years, making a backup, of copying the file", spent/peer, "ratio", fmt.Sprintf(
			"%.0f s, read back and all, beside %.0f s; once", spent/1e9, peer/1e9)),
	}, nil
}

// copied copies a file, writes it through and removes the copy; it returns the nanoseconds.
func copied(from, to string) (ns float64, err error) {
	began := time.Now()
	in, err := os.Open(from)
	if err != nil {
		return 0, err
	}
	defer in.Close()
	out, err := os.Create(to)
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, os.Remove(to)) }()
	// Through memory, as a backup goes: the system could copy by itself.
	_, err = io.Copy(struct{ io.Writer }{out}, struct{ io.Reader }{in})
	err = errors.Join(err, out.Sync(), out.Close())
	return float64(time.Since(began)), err
}

// startedRows starts the program on the practice a few times and lets a new phone in at the last.
func startedRows(binary, data, file, token string, operations int) (rows []row, err error) {
	var s *served
	got, err := beside(
		func() (float64, error) {
			if last := s; last != nil {
				s = nil
				if err := last.stop(); err != nil {
					return 0, err
				}
			}
			var err error
			if s, err = serveFolder(binary, data); err != nil {
				return 0, err
			}
			return s.tookMS * 1e6, nil
		},
		func() (float64, error) { return wholeRead(file) })
	if s != nil {
		defer func() { err = errors.Join(err, s.stop()) }()
	}
	if err != nil {
		return nil, err
	}
	rest, _, err := s.resident()
	if err != nil {
		return nil, err
	}
	began := time.Now()
	all, err := s.pullAll(token)
	if err != nil {
		return nil, err
	}
	if all.operations != operations {
		return nil, fmt.Errorf("a new phone got %d of %d operations", all.operations, operations)
	}
	spent := time.Since(began)
	_, most, err := s.resident()
	if err != nil {
		return nil, err
	}
	return []row{
		figure("years, start, of reading the file", got.ratio, "ratio", fmt.Sprintf(
			"%.1f s until ready, beside %.1f s", got.subject/1e9, got.peer/1e9)),
		limited("years, memory at rest", rest, "B", restLimit, ""),
		figure("years, the owner's new phone fetches", all.bytes, "B", fmt.Sprintf(
			"%d requests, %.0f s of the server on loopback", all.requests, spent.Seconds())),
		limited("years, memory while it does", most, "B", yearsMemoryLimit, "the most"),
	}, nil
}

// wholeRead reads a file once and returns the nanoseconds.
func wholeRead(path string) (ns float64, err error) {
	began := time.Now()
	in, err := os.Open(path)
	if err != nil {
		return 0, err
	}
	defer in.Close()
	_, err = io.Copy(struct{ io.Writer }{io.Discard}, struct{ io.Reader }{in})
	return float64(time.Since(began)), err
}

// fetched is what a phone was sent.
type fetched struct {
	bytes                float64 // of all answers
	requests, operations int
}

// pullAll asks for everything that the phone of token may read, in the version of the exchange
// that phones speak.
func (c caller) pullAll(token string) (all fetched, err error) {
	p, err := c.newPhone(staffDevices, token)
	if err != nil {
		return all, err
	}
	behind := map[record.ID]wire.Page{} // by document: where the phone is, and the last there is
	q := wire.Request{Schema: wire.Schema, Device: staffDevices, Epoch: p.pen.epoch, IsTaught: true}
	for isMore := true; isMore; all.requests++ {
		q.Number++
		q.WallMS = time.Now().UnixMilli()
		q.Pulls = pullsOf(behind)
		_, body, err := c.post("/api/sync", syncMedia, q.Append(nil), p.with)
		if err != nil {
			return all, err
		}
		answer, err := wire.ParseAnswer(body, q)
		if err != nil {
			return all, err
		}
		for _, changed := range answer.Changed {
			behind[changed.Doc] = wire.Page{Doc: changed.Doc, Head: changed.Head}
		}
		for _, page := range answer.Pages {
			all.operations += len(page.Ops)
			if behind[page.Doc] = page; page.To >= page.Head {
				delete(behind, page.Doc)
			}
		}
		all.bytes += float64(len(body))
		q.Seen = answer.Seen
		isMore = answer.MoreChanged || len(behind) > 0
	}
	return all, nil
}

// pullsOf asks for what is past the end of each page, as often as one request may.
func pullsOf(behind map[record.ID]wire.Page) (pulls []wire.Pull) {
	for _, id := range slices.SortedFunc(maps.Keys(behind), record.ID.Compare) {
		if len(pulls) < wire.MaxPulls {
			pulls = append(pulls, wire.Pull{Doc: id, After: behind[id].To})
		}
	}
	return pulls
}
