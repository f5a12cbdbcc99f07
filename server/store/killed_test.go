package store

import (
	"database/sql"
	"os"
	"os/exec"
	"strconv"
	"syscall"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

const (
	killStep = "EVENHOLD_TEST_KILL_STEP"
	killFile = "EVENHOLD_TEST_KILL_FILE"
)

// TestOpen_KilledInAStep: a program that is killed in the middle of a step, after the step's script
// and before its end, leaves the file as it was before that step; the next one finishes the work.
// The test calls itself as the program that dies.
func TestOpen_KilledInAStep(t *testing.T) {
	if step, err := strconv.Atoi(os.Getenv(killStep)); err == nil {
		finish[step] = func(*sql.Tx) error { return syscall.Kill(os.Getpid(), syscall.SIGKILL) }
		_, err := Open(os.Getenv(killFile))
		t.Fatalf("it was not killed: %v", err)
	}
	for first := 1; first < Version(); first++ {
		for step := first + 1; step <= Version(); step++ {
			path := version(t, first)
			program := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^"+t.Name()+"$")
			program.Env = append(os.Environ(), killStep+"="+strconv.Itoa(step), killFile+"="+path)
			text, err := program.CombinedOutput()
			status, isStatus := program.ProcessState.Sys().(syscall.WaitStatus)
			if err == nil || !isStatus || status.Signal() != syscall.SIGKILL {
				t.Fatalf("step %d: %v\n%s", step, err, text)
			}
			db, err := sql.Open("sqlite3", path)
			if err != nil {
				t.Fatal(err)
			}
			left := 0
			if err := db.QueryRow("PRAGMA user_version").Scan(&left); err != nil || left != step-1 {
				t.Errorf("killed in step %d the file has version %d, %v", step, left, err)
			}
			if err := db.Close(); err != nil {
				t.Fatal(err)
			}
			s := openAt(t, path)
			sound(t, s)
			doc, err := s.Document(t.Context(), record.ID{Device: 7, Seq: 1})
			if err != nil || doc.Len() != 4 {
				t.Errorf("killed in step %d: %d operations, %v; want 4", step, doc.Len(), err)
			}
			m, err := s.MemberByDevice(t.Context(), 7)
			if err != nil || m.Person.Role != sessions.Owner {
				t.Errorf("killed in step %d: %+v, %v", step, m, err)
			}
		}
	}
}
