package main

import "testing"

// TestStatusBytes reads lines of the form that proc(5) of the Linux manual pages gives for
// /proc/PID/status, where "kB" stands for 1024 bytes.
func TestStatusBytes(t *testing.T) {
	const status = "Name:\tevenhold\nVmHWM:\t  213004 kB\nVmRSS:\t  210000 kB\nVmData:\tmany kB\n"
	for name, want := range map[string]float64{"VmHWM:": 213_004 * 1024, "VmRSS:": 210_000 * 1024} {
		if got, err := statusBytes(status, name); err != nil || got != want {
			t.Errorf("%s %v %v, want %v", name, got, err, want)
		}
	}
	for _, name := range []string{"VmSwap:", "VmData:", "Name:"} {
		if got, err := statusBytes(status, name); err == nil {
			t.Errorf("%s is read as %v", name, got)
		}
	}
}

// TestHundredth: of the numbers 1 to 1000 ten, which is one in a hundred, lie above 990.
func TestHundredth(t *testing.T) {
	var values []float64
	for i := 1000; i > 0; i-- {
		values = append(values, float64(i))
	}
	if got := hundredth(values); got != 991 {
		t.Errorf("%v, want 991: nine lie above it", got)
	}
}
