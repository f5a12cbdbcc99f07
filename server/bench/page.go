package main

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"evenhold/pwa/core/app"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// shownIn holds milliseconds, medians of five: a record opened, and after that its latest test's
// result page and the plan page, which learns both capacities and searches the doses.
type shownIn struct {
	Open   float64 `json:"open"`
	Result float64 `json:"result"`
	Plan   float64 `json:"plan"`
}

// pages measures the pages of a client with 30 tests and a year of sessions in the built core,
// natively and as WebAssembly in Node, beside opening that record in the same one.
func pages(b *bench) ([]row, error) {
	if err := b.build(); err != nil {
		return nil, err
	}
	e, err := b.example()
	if err != nil {
		return nil, err
	}
	nowMS := time.Now().UnixMilli()
	client, err := newBusy(nowMS)
	if err != nil {
		return nil, err
	}
	frames, err := e.frames(client, nowMS)
	if err != nil {
		return nil, err
	}
	native, err := shownNatively(frames)
	if err != nil {
		return nil, err
	}
	node, err := b.shownInNode(frames)
	if err != nil {
		return nil, err
	}
	searched, err := b.searches()
	if err != nil {
		return nil, err
	}
	rows := pageRows(client.doc.Len(), native, node)
	return append(rows, searched.rows(native.Open, node.Open)...), nil
}

func pageRows(ops int, native, node shownIn) []row {
	told := func(name string, ms, openMS float64) row {
		return figure("merge, "+name+", of opening", ms/openMS, "ratio",
			fmt.Sprintf("%s ms beside %s ms for opening the record of %d operations", plain(ms),
				plain(openMS), ops))
	}
	return []row{
		told("result page natively", native.Result, native.Open),
		told("result page as WebAssembly", node.Result, node.Open),
		told("plan page natively", native.Plan, native.Open),
		told("plan page as WebAssembly", node.Plan, node.Open),
	}
}

// frames are the commands that open the practice's record and the client's, and show both pages.
func (e *example) frames(client *busy, nowMS int64) ([][]byte, error) {
	type stored struct {
		Store string `json:"store"`
		Key   string `json:"key"`
		JSON  any    `json:"json,omitempty"`
	}
	me := map[string]string{"device": phoneDevice.String(), "person": "bench", "name": "Bench Coach",
		"role": "coach", "practiceName": e.practice.Name, "practiceDoc": e.practice.Doc.String()}
	docs := []*record.Doc{client.doc}
	for _, d := range e.docs {
		if d.ID() == e.practice.Doc {
			docs = append(docs, d)
		}
	}
	var snaps []stored
	var blobs [][]byte
	for _, d := range docs {
		snaps = append(snaps, stored{Store: "snap", Key: d.ID().String()})
		blobs = append(blobs, wire.AppendSnapshot(nil, d))
	}
	person := "/p/" + client.doc.ID().String()
	var frames [][]byte
	for _, c := range []struct {
		name  string
		args  any
		blobs [][]byte
	}{
		{"open", map[string]any{
			"rows": []stored{{Store: "meta", Key: "me", JSON: me}}, "blobs": snaps}, blobs},
		{"go", map[string]string{"route": person + "/result/" + client.test.String()}, nil},
		{"go", map[string]string{"route": person + "/plan"}, nil},
	} {
		frame, err := appendFrame(nil, map[string]any{
			"do": c.name, "args": c.args, "tzMin": 60, "random": strings.Repeat("5a", 16),
			"at": map[string]any{"wallMS": nowMS, "monoMS": 1, "run": "bench"},
		}, c.blobs)
		if err != nil {
			return nil, err
		}
		frames = append(frames, frame)
	}
	return frames, nil
}

var errNotShown = errors.New("the core did not show the client's result and suggested plan")

// checkShown returns an error unless the answer to the last frame is a plan that can be accepted,
// so that its doses were searched.
func checkShown(answer []byte) error {
	head, err := frameHead(answer)
	if err == nil && !bytes.Contains(head, []byte(`"plan.accept"`)) {
		err = errNotShown
	}
	return err
}

func shownNatively(frames [][]byte) (shownIn, error) {
	times := make([][]float64, len(frames))
	phone := app.New()
	for round := range rounds + 1 {
		for i, frame := range frames {
			start := time.Now()
			answer := phone.Call(frame)
			spent := time.Since(start)
			if i == len(frames)-1 {
				if err := checkShown(answer); err != nil {
					return shownIn{}, err
				}
			}
			if round > 0 {
				times[i] = append(times[i], float64(spent)/1e6)
			}
		}
	}
	return shownIn{Open: median(times[0]), Result: median(times[1]), Plan: median(times[2])}, nil
}

func (b *bench) shownInNode(frames [][]byte) (s shownIn, err error) {
	found, err := filepath.Glob("pwa/dist/assets/core.*.wasm")
	if err != nil || len(found) != 1 {
		return s, errors.Join(err, errors.New("pwa/dist holds no single core: build again"))
	}
	var all []byte
	for _, frame := range frames {
		all = append(binary.LittleEndian.AppendUint32(all, uint32(len(frame))), frame...)
	}
	file := filepath.Join(b.folder, "pages.frames")
	if err := os.WriteFile(file, all, 0o600); err != nil {
		return s, err
	}
	cmd := exec.Command("node", "--no-warnings", "pwa/bench/pages.mjs", found[0], file)
	cmd.Stderr = os.Stderr
	told, err := cmd.Output()
	if err != nil {
		return s, fmt.Errorf("pages in Node: %w", err)
	}
	return s, json.Unmarshal(told, &s)
}
