package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"

	"evenhold/pwa/bench/merge/replay"
	"evenhold/pwa/bench/merge/trace"
	"evenhold/pwa/build/corefile"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// peersFolder holds the general libraries' adapters and their own package list, which is installed
// when this section runs and never before.
const peersFolder = "pwa/bench/merge"

// replayed is what one library made of the year's trace, as measure.mjs prints it. Sizes are the
// least of plain, gzip and brotli.
type replayed struct {
	Name         string  `json:"name"`
	SyncsBytes   float64 `json:"syncsBytes"`   // all messages of a year
	WholeBytes   float64 `json:"wholeBytes"`   // the record with its history
	SessionBytes float64 `json:"sessionBytes"` // one session's message
	ApartBytes   float64 `json:"apartBytes"`   // thirty days' messages
	LoadMS       float64 `json:"loadMS"`       // load and show everything
	MemoryBytes  float64 `json:"memoryBytes"`  // by which a process grows as it loads and shows
	SetMS        float64 `json:"setMS"`        // one set applied
	MergeMS      float64 `json:"mergeMS"`      // thirty days merged

	// The same messages with nothing counted but their operations.
	SyncsBareBytes   float64 `json:"syncsBareBytes"`
	SessionBareBytes float64 `json:"sessionBareBytes"`
	ApartBareBytes   float64 `json:"apartBareBytes"`

	IsEqual bool `json:"isEqual"` // whether the replicas are, at the end
}

// libraries are the peers, by the names of their adapters.
var libraries = []string{"yjs", "loro", "automerge"}

// peers replays the year's trace through the core as WebAssembly and the general libraries, one
// after another, and tells the core beside the best of them.
func peers(b *bench) ([]row, error) {
	if err := install(peersFolder); err != nil {
		return nil, err
	}
	lines := trace.Make(1, replay.Seed)
	traceFile := filepath.Join(b.folder, "trace.jsonl")
	if err := writeLines(traceFile, lines); err != nil {
		return nil, err
	}
	core := filepath.Join(b.folder, "merge.wasm")
	program, err := corefile.Compile(".", "./"+peersFolder+"/entry")
	if err != nil {
		return nil, err
	}
	if err := os.WriteFile(core, program, 0o600); err != nil {
		return nil, err
	}
	own, err := replayIn("core", traceFile, core)
	if err != nil {
		return nil, err
	}
	var others []replayed
	for _, name := range libraries {
		other, err := replayIn(name, traceFile, core)
		if err != nil {
			return nil, err
		}
		others = append(others, other)
	}
	d, err := yearsOf(lines)
	if err != nil {
		return nil, err
	}
	native, err := loadMS(d)
	if err != nil {
		return nil, err
	}
	week, err := replay.Away(weekClients, lines[0].AtMS)
	if err != nil {
		return nil, err
	}
	rows := peerRows(own, others, native)
	return append(rows, boundRow(own.WholeBytes, bound(lines)), weekRow(week)), nil
}

// install installs a folder's npm packages, exactly those of its lock.
func install(folder string) error {
	if _, err := os.Stat(filepath.Join(folder, "node_modules", ".package-lock.json")); err == nil {
		return nil
	}
	npm := exec.Command("npm", "ci", "--silent")
	npm.Dir, npm.Stderr = folder, os.Stderr
	if err := npm.Run(); err != nil {
		return fmt.Errorf("install the general libraries: %w", err)
	}
	return nil
}

func writeLines(path string, lines []trace.Line) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	encoder := json.NewEncoder(f)
	for _, line := range lines {
		if err := encoder.Encode(line); err != nil {
			return errors.Join(err, f.Close())
		}
	}
	return f.Close()
}

func replayIn(name, traceFile, core string) (r replayed, err error) {
	cmd := exec.Command("node", "--no-warnings", "--expose-gc", peersFolder+"/measure.mjs",
		name, traceFile, core)
	cmd.Stderr = os.Stderr
	told, err := cmd.Output()
	if err != nil {
		return r, fmt.Errorf("replay in %s: %w", name, err)
	}
	if err := json.Unmarshal(told, &r); err != nil {
		return r, fmt.Errorf("replay in %s: %w", name, err)
	}
	if !r.IsEqual {
		return r, fmt.Errorf("replay in %s: the replicas differ at the end", name)
	}
	return r, nil
}

// loadMS returns the milliseconds in which the server's own build loads and shows a record.
func loadMS(d *record.Doc) (float64, error) {
	stored := wire.AppendSnapshot(nil, d)
	sample := repeat(1, func() error {
		opened, err := wire.Snapshot(stored)
		if err == nil && len(replay.Show(opened)) < opened.Len() {
			err = errOther
		}
		return err
	})
	ns, err := medianOf(sample)
	return ns / 1e6, err
}
