package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
)

// sizes are the built app's, against the budgets that the build itself holds.
func sizes(b *bench) ([]row, error) {
	err := b.build()
	return b.built, err
}

// build builds the phone app once in a run and keeps the sizes that the build tells.
func (b *bench) build() error {
	if b.built != nil {
		return nil
	}
	cmd := exec.Command("./scripts/build", "-sizes", "json")
	cmd.Stderr = os.Stderr
	told, failure := cmd.Output()
	rows, err := sizeRows(told)
	if err != nil {
		return err
	}
	// A build over its budget fails after it has told the sizes: the rows say so.
	if failure != nil && !hasMissed(rows) {
		return fmt.Errorf("build the app: %w", failure)
	}
	b.built = rows
	return nil
}

// sizeRows reads the sizes as the build prints them, one object a line.
func sizeRows(told []byte) ([]row, error) {
	var rows []row
	for line := range bytes.Lines(told) {
		var one struct {
			Name   string
			Value  float64
			Unit   string
			Target float64
		}
		if err := json.Unmarshal(line, &one); err != nil {
			return nil, fmt.Errorf("sizes of the build: %w", err)
		}
		name := "size " + one.Name
		if one.Target == 0 {
			rows = append(rows, figure(name, one.Value, one.Unit, ""))
		} else {
			rows = append(rows, limited(name, one.Value, one.Unit, one.Target, ""))
		}
	}
	if len(rows) == 0 {
		return nil, errors.New("the build told no sizes")
	}
	return rows, nil
}

func hasMissed(rows []row) bool {
	for _, r := range rows {
		if r.Holds != nil && !*r.Holds {
			return true
		}
	}
	return false
}
