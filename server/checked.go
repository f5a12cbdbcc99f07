package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// checkedName is the file in the data folder with what the last whole check found: a line with
// its moment, then one for each fault. The doctor reads it, and a server that was started again.
const checkedName = "checked.txt"

// checkEvery is how often the server reads everything there is; our own choice.
const checkEvery = 7 * 24 * time.Hour

// checked is what a whole check of the practice file found, and when; zero for none yet.
type checked struct {
	at     time.Time
	faults []string
}

// lastCheck returns what the last whole check in a data folder found.
func lastCheck(data string) (checked, error) {
	text, err := os.ReadFile(filepath.Join(data, checkedName))
	if errors.Is(err, fs.ErrNotExist) || isNotFolder(err) {
		return checked{}, nil
	}
	if err != nil {
		return checked{}, fmt.Errorf("last whole check: %w", err)
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	at, err := time.Parse(time.RFC3339, lines[0])
	if err != nil {
		return checked{}, nil // cut off while it was written: the next check writes it anew
	}
	return checked{at, lines[1:]}, nil
}

func (c checked) keep(f *folder) error {
	text := c.at.UTC().Format(time.RFC3339) + "\n"
	for _, fault := range c.faults {
		text += strings.ReplaceAll(fault, "\n", " ") + "\n"
	}
	if err := os.WriteFile(f.file(checkedName), []byte(text), 0o600); err != nil {
		return fmt.Errorf("write down the whole check: %w", err)
	}
	return nil
}

// advice says what to do about faults, or that the checks have ended; "" if all is well.
func (c checked) advice(now time.Time) string {
	switch {
	case len(c.faults) > 0:
		return fmt.Sprintf("faults found: %d, the first: %s; stop the server and give \"evenhold"+
			" restore\" the newest backup that \"evenhold check\" calls whole", len(c.faults), c.faults[0])
	case !c.at.IsZero() && now.Sub(c.at) > 2*checkEvery:
		return "the server makes one a week; look into its log"
	}
	return ""
}

// checkIfDue reads everything there is if the last time is a week ago, or in a future that a wrong
// clock made, and writes down what was found. A check that is cut off by a stop is none.
func checkIfDue(ctx context.Context, f *folder, now time.Time, log *slog.Logger,
	check func(context.Context) ([]string, error)) error {
	last, err := lastCheck(f.path)
	if err != nil {
		return err
	}
	if age := now.Sub(last.at); age >= 0 && age < checkEvery {
		return nil
	}
	faults, err := check(ctx)
	if ctx.Err() != nil {
		return nil
	}
	if err != nil {
		return err
	}
	found := checked{now, faults}
	if len(faults) == 0 {
		log.Info("the whole check found nothing wrong")
	} else {
		log.Error("the practice file is damaged; it is served as far as it can be read",
			"faults", len(faults), "advice", found.advice(now))
	}
	return found.keep(f)
}
