package main

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"evenhold/pwa/bench/dose"
	"evenhold/pwa/build/corefile"
)

// searchLimitMS is what the dose search of one plan may take as WebAssembly at no slow-down.
const searchLimitMS = 60

// searches holds medians of five searches for the doses of one plan, by themselves.
type searches struct {
	tried          int
	nativeMS, node float64 // milliseconds; node as WebAssembly
}

func (b *bench) searches() (s searches, err error) {
	search, err := dose.New()
	if err != nil {
		return s, err
	}
	var times []float64
	for range rounds {
		start := time.Now()
		s.tried = search.Run()
		times = append(times, float64(time.Since(start))/1e6)
	}
	s.nativeMS = median(times)
	program, err := corefile.Compile(".", "./pwa/bench/dose/entry")
	if err != nil {
		return s, err
	}
	file := filepath.Join(b.folder, "dose.wasm")
	if err := os.WriteFile(file, program, 0o600); err != nil {
		return s, err
	}
	cmd := exec.Command("node", "--no-warnings", "pwa/bench/dose.mjs", file)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return s, fmt.Errorf("dose search in Node: %w", err)
	}
	var told struct {
		MS    float64 `json:"ms"`
		Tried int     `json:"tried"`
	}
	if err := json.Unmarshal(out, &told); err != nil {
		return s, err
	}
	if told.Tried != s.tried {
		return s, fmt.Errorf("%d doses compared as WebAssembly, %d natively", told.Tried, s.tried)
	}
	s.node = told.MS
	return s, nil
}

// rows tells the searches beside opening a busy record in the same build, in milliseconds.
func (s searches) rows(openMS, openNodeMS float64) []row {
	note := fmt.Sprintf("%d doses compared, in Node on %s, no slow-down", s.tried, machine().Note)
	beside := func(ms, openMS float64) string {
		return fmt.Sprintf("%s ms beside %s ms for opening that record", plain(ms), plain(openMS))
	}
	return []row{
		limited("merge, dose search alone as WebAssembly", s.node, "ms", searchLimitMS, note),
		figure("merge, dose search as WebAssembly, of opening", s.node/openNodeMS, "ratio",
			beside(s.node, openNodeMS)),
		figure("merge, dose search natively, of opening", s.nativeMS/openMS, "ratio",
			beside(s.nativeMS, openMS)),
	}
}
