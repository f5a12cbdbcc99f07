package clock_test

import (
	"errors"
	"math"
	"testing"

	"evenhold/sync/clock"

	"pgregory.net/rapid"
)

// paper is the algorithm as printed in "Logical Physical Clocks and Consistent Snapshots in
// Globally Distributed Databases", OPODIS 2014, doi:10.1007/978-3-319-14472-6_2, figure 5
// (figure number from memory): l is the largest wall reading heard of, c orders within it.
type paper struct{ l, c int64 }

func (p *paper) send(pt int64) {
	before := p.l
	p.l = max(before, pt)
	if p.l == before {
		p.c++
	} else {
		p.c = 0
	}
}

func (p *paper) receive(m paper, pt int64) {
	before := p.l
	p.l = max(before, m.l, pt)
	switch {
	case p.l == before && p.l == m.l:
		p.c = max(p.c, m.c) + 1
	case p.l == before:
		p.c++
	case p.l == m.l:
		p.c = m.c + 1
	default:
		p.c = 0
	}
}

// TestClock_C1_FollowsThePaper runs devices that send to each other and compares with the
// printed algorithm. Ours departs in one point: hearing of a stamp is no event of its own and
// takes no count, so the wall parts are equal and our counts are never larger.
func TestClock_C1_FollowsThePaper(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const devices = 3
		var ours [devices]*clock.Clock
		var theirs [devices]paper
		var wall [devices]int64
		for i := range ours {
			ours[i] = clock.New(clock.Device(i+1), clock.Stamp{})
		}
		for range rapid.IntRange(1, 60).Draw(t, "events") {
			from := rapid.IntRange(0, devices-1).Draw(t, "from")
			to := rapid.IntRange(0, devices-1).Draw(t, "to")
			wall[from] += rapid.Int64Range(0, 3).Draw(t, "passed")
			stamp := ours[from].Next(wall[from])
			theirs[from].send(wall[from])
			check(t, stamp, theirs[from])
			if from == to {
				continue
			}
			if err := ours[to].Observe(stamp, wall[to]); err != nil {
				t.Fatal(err)
			}
			theirs[to].receive(theirs[from], wall[to])
			reply := ours[to].Next(wall[to])
			check(t, reply, theirs[to])
			if reply.Compare(stamp) <= 0 {
				t.Fatalf("reply %v is not after %v", reply, stamp)
			}
		}
	})
}

func check(t *rapid.T, got clock.Stamp, want paper) {
	t.Helper()
	if got.WallMS != want.l || int64(got.Count) > want.c {
		t.Fatalf("stamp %v, paper has l=%d c=%d", got, want.l, want.c)
	}
}

// TestClock_C2_NeverBackwards sets the wall clock to anything, also backwards.
func TestClock_C2_NeverBackwards(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := clock.New(7, clock.Stamp{})
		last := c.Last()
		for _, wallMS := range rapid.SliceOf(rapid.Int64Range(0, 5)).Draw(t, "walls") {
			next := c.Next(wallMS)
			if next.Compare(last) <= 0 || next.WallMS < wallMS {
				t.Fatalf("at %d after %v came %v", wallMS, last, next)
			}
			last = next
		}
	})
}

func TestClock_C2_CountOverflow(t *testing.T) {
	full := clock.Stamp{WallMS: 5, Count: math.MaxUint32, Device: 9}
	got := clock.New(1, full).Next(3)
	if want := (clock.Stamp{WallMS: 6, Device: 1}); got != want {
		t.Errorf("after %v came %v, want %v", full, got, want)
	}
}

func TestClock_C3_FutureIsRefused(t *testing.T) {
	const wallMS = 1_000_000_000
	tests := []struct {
		name    string
		aheadMS int64
		want    error
	}{
		{"past", -5, nil},
		{"at the bound", clock.MaxAheadMS, nil},
		{"past the bound", clock.MaxAheadMS + 1, clock.ErrFuture},
		{"end of the numbers", math.MaxInt64 - wallMS, clock.ErrFuture},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			before := clock.Stamp{WallMS: wallMS - 100, Device: 1}
			c := clock.New(1, before)
			s := clock.Stamp{WallMS: wallMS + tt.aheadMS, Device: 2}
			if err := c.Observe(s, wallMS); !errors.Is(err, tt.want) {
				t.Fatalf("Observe = %v, want %v", err, tt.want)
			}
			if tt.want != nil && c.Last() != before {
				t.Errorf("clock moved to %v", c.Last())
			}
		})
	}
}

func TestStamp_C4_Text(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := clock.Stamp{
			WallMS: rapid.Int64().Draw(t, "wall"),
			Count:  rapid.Uint32().Draw(t, "count"),
			Device: clock.Device(rapid.Uint64Min(1).Draw(t, "device")),
		}
		back, err := clock.ParseStamp(s.String())
		if err != nil || back != s {
			t.Fatalf("%v came back as %v, %v", s, back, err)
		}
	})
	for _, text := range []string{"", "1.2", "1.2.3", "+1.2.0000000000001", "1.02.0000000000001",
		"1.2.000000000000I", "1.2.zzzzzzzzzzzzz", "1.4294967296.0000000000001", "1.2.0000000000000"} {
		if s, err := clock.ParseStamp(text); err == nil {
			t.Errorf("ParseStamp(%q) = %v", text, s)
		}
	}
}

// TestDevice_C4_Base32 checks the digits against Crockford's table: value 31 is z, 10 is a, 18
// is j because i is left out. From memory.
func TestDevice_C4_Base32(t *testing.T) {
	tests := []struct {
		device clock.Device
		want   string
	}{
		{1, "0000000000001"},
		{31, "000000000000z"},
		{32, "0000000000010"},
		{10<<5 | 18, "00000000000aj"},
		{math.MaxUint64, "fzzzzzzzzzzzz"},
	}
	for _, tt := range tests {
		if got := tt.device.String(); got != tt.want {
			t.Errorf("Device(%d) = %s, want %s", uint64(tt.device), got, tt.want)
		}
	}
}
