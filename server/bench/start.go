package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

// startMarks are one start's times in milliseconds since the navigation began.
type startMarks struct {
	PaintedMS  float64 `json:"paintedMS"`  // a list row is on the screen
	AnsweredMS float64 `json:"answeredMS"` // the worker has answered its first question
}

// startRun is what the browser's part of the bench prints.
type startRun struct {
	Browser string `json:"browser"`
	Rows    int    `json:"rows"` // people on the list that is painted
	Speeds  []struct {
		Times  float64      `json:"times"` // slow-down asked for; 1 is none
		Page   float64      `json:"page"`  // slow-down measured, of page and worker
		Worker float64      `json:"worker"`
		App    []startMarks `json:"app"`
		Empty  []startMarks `json:"empty"`
	} `json:"speeds"`
}

// starts measures cold offline starts of the built app in a real browser, at full speed and slowed,
// beside an empty page with the same worker start.
func starts(b *bench) ([]row, error) {
	if err := b.build(); err != nil {
		return nil, err
	}
	program := filepath.Join(b.folder, "evenhold")
	build := exec.Command("go", "build", "-trimpath", "-o", program, "./server")
	build.Stderr = os.Stderr
	if err := build.Run(); err != nil {
		return nil, fmt.Errorf("build the server: %w", err)
	}
	cmd := exec.Command("node", "pwa/bench/start.mjs", program)
	cmd.Stderr = os.Stderr
	told, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("the browser's part: %w", err)
	}
	return startRows(told)
}

// startRows turns the browser's times into ratios to the empty page's worker answering.
func startRows(told []byte) ([]row, error) {
	var run startRun
	decoder := json.NewDecoder(bytes.NewReader(told))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&run); err != nil {
		return nil, fmt.Errorf("the browser's part: %w", err)
	}
	var rows []row
	for _, s := range run.Speeds {
		if len(s.App) != rounds || len(s.Empty) != rounds {
			return nil, fmt.Errorf("the browser's part: %d and %d starts, want %d of each",
				len(s.App), len(s.Empty), rounds)
		}
		var painted, answered, paintedMS, answeredMS, emptyMS []float64
		for i, app := range s.App {
			empty := s.Empty[i].AnsweredMS
			painted, answered = append(painted, app.PaintedMS/empty), append(answered, app.AnsweredMS/empty)
			paintedMS = append(paintedMS, app.PaintedMS)
			answeredMS = append(answeredMS, app.AnsweredMS)
			emptyMS = append(emptyMS, empty)
		}
		speed := fmt.Sprintf("%gx", s.Times)
		peer := fmt.Sprintf("beside %.0f ms until an empty page's worker answered", median(emptyMS))
		rows = append(rows,
			figure("start "+speed+", first row painted", median(painted), "ratio",
				fmt.Sprintf("%.0f ms until 1 of %d people was on the screen, %s, Chromium %s",
					median(paintedMS), run.Rows, peer, run.Browser)),
			figure("start "+speed+", core answered", median(answered), "ratio",
				fmt.Sprintf("%.0f ms, %s", median(answeredMS), peer)))
		if s.Times == 1 {
			continue
		}
		how := "measured by a loop in this run; the renderer stopped and continued in turn"
		rows = append(rows, figure("start "+speed+", slow-down of the page", s.Page, "ratio", how),
			figure("start "+speed+", slow-down of the worker", s.Worker, "ratio", how))
	}
	return rows, nil
}
