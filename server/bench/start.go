package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
)

// startMarks are one start's times in milliseconds since the navigation began.
type startMarks struct {
	PaintedMS  float64 `json:"paintedMS"`  // a list row is on the screen
	AnsweredMS float64 `json:"answeredMS"` // the worker has answered its first question
}

// startSpeed are the starts at one speed of the renderer.
type startSpeed struct {
	Times  float64      `json:"times"` // slow-down asked for; 1 is none
	Page   float64      `json:"page"`  // slow-down measured, of page and worker
	Worker float64      `json:"worker"`
	App    []startMarks `json:"app"`
	Empty  []startMarks `json:"empty"`
}

// startRun is what the browser's part of the bench prints.
type startRun struct {
	Browser string       `json:"browser"`
	Rows    int          `json:"rows"` // people on the list that is painted
	Speeds  []startSpeed `json:"speeds"`
}

// starts measures cold offline starts of the built app in a real browser, at full speed and slowed,
// beside an empty page with the same worker start.
func starts(b *bench) ([]row, error) {
	program, err := b.program()
	if err != nil {
		return nil, err
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
	var missed []error
	for _, s := range run.Speeds {
		if len(s.App) != rounds || len(s.Empty) != rounds {
			return nil, fmt.Errorf("the browser's part: %d and %d starts, want %d of each",
				len(s.App), len(s.Empty), rounds)
		}
		rows = append(rows, s.rows(run)...)
		if !s.isNear(s.Page) || !s.isNear(s.Worker) {
			missed = append(missed, fmt.Errorf("the slow-down by %g was missed: page %.2f, worker %.2f;"+
				" measure again when the machine is quieter", s.Times, s.Page, s.Worker))
		}
	}
	return rows, errors.Join(missed...)
}

// isNear reports whether a slow-down that was measured may stand for the one asked for.
func (s startSpeed) isNear(measured float64) bool {
	return s.Times == 1 || math.Abs(measured/s.Times-1) <= 0.25
}

func (s startSpeed) rows(run startRun) []row {
	var painted, answered, paintedMS, answeredMS, emptyMS []float64
	for i, app := range s.App {
		empty := s.Empty[i].AnsweredMS
		painted, answered = append(painted, app.PaintedMS/empty), append(answered, app.AnsweredMS/empty)
		paintedMS, answeredMS = append(paintedMS, app.PaintedMS), append(answeredMS, app.AnsweredMS)
		emptyMS = append(emptyMS, empty)
	}
	name := fmt.Sprintf("start %gx", s.Times)
	peer := fmt.Sprintf("beside %.0f ms until an empty page's worker answered", median(emptyMS))
	rows := []row{
		figure(name+", first row painted", median(painted), "ratio",
			fmt.Sprintf("%.0f ms until the list of %d people was on the screen, %s; Chromium %s",
				median(paintedMS), run.Rows, peer, run.Browser)),
		figure(name+", core answered", median(answered), "ratio",
			fmt.Sprintf("%.0f ms, %s", median(answeredMS), peer)),
	}
	if s.Times == 1 {
		return rows
	}
	how := "by a loop in this run; the renderer is stopped and continued in turn"
	return append(rows, figure(name+", slow-down of the page", s.Page, "ratio", how),
		figure(name+", slow-down of the worker", s.Worker, "ratio", how))
}
