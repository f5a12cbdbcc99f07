package store

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
)

// TestCheck_FlippedAudit changes one byte of the audit trail at 50 places, past the triggers: in a
// moment, a text or a link. Each is found, at the line where it is.
func TestCheck_FlippedAudit(t *testing.T) {
	s, _, _ := busy(t)
	for i := range 20 {
		e := Event{AtMS: noon + int64(i), Person: "somebody", Device: "0000000000007", Act: "export",
			Subject: fmt.Sprintf("record-%d", i), Result: "ok"}
		if err := s.Audit(e); err != nil {
			t.Fatal(err)
		}
	}
	sound(t, s)
	if _, err := s.writer.Exec("DROP TRIGGER audit_no_update"); err != nil {
		t.Fatal(err)
	}
	dice := rand.New(rand.NewPCG(7, 8))
	for range 50 {
		line := 4 + dice.IntN(20)
		column := []string{"at_ms", "person", "device", "act", "subject", "result",
			"link"}[dice.IntN(7)]
		var was any
		read := fmt.Sprintf("SELECT %s FROM audit WHERE n = %d", column, line)
		if err := s.writer.QueryRow(read).Scan(&was); err != nil {
			t.Fatal(err)
		}
		put := fmt.Sprintf("UPDATE audit SET %s = ? WHERE n = %d", column, line)
		if _, err := s.writer.Exec(put, flipped(dice, was)); err != nil {
			t.Fatal(err)
		}
		faults, err := s.Check(t.Context())
		want := fmt.Sprintf("line %d of the audit trail was changed", line)
		if err != nil || !strings.Contains(strings.Join(faults, "\n"), want) {
			t.Errorf("%s of line %d: %q, %v", column, line, faults, err)
		}
		if _, err := s.writer.Exec(put, was); err != nil {
			t.Fatal(err)
		}
	}
	sound(t, s)
}

// flipped is a value of the trail with some bits of one byte the other way round.
func flipped(dice *rand.Rand, v any) any {
	bits := byte(1 + dice.IntN(127))
	switch v := v.(type) {
	case int64:
		return v ^ int64(bits)<<(8*dice.IntN(5))
	case string:
		b := []byte(v)
		b[dice.IntN(len(b))] ^= bits
		return string(b)
	case []byte:
		b := append([]byte(nil), v...)
		b[dice.IntN(len(b))] ^= bits
		return b
	}
	panic(fmt.Sprintf("a %T in the audit trail", v))
}
