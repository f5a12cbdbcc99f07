package main

import "testing"

// TestFrame: the bytes are written out by hand from the form: each part after its length in four
// little-endian bytes, the JSON first.
func TestFrame(t *testing.T) {
	const want = "\x02\x00\x00\x00{}\x03\x00\x00\x00abc\x00\x00\x00\x00"
	got, err := appendFrame(nil, struct{}{}, [][]byte{[]byte("abc"), {}})
	if err != nil || string(got) != want {
		t.Errorf("%q (%v), want %q", got, err, want)
	}
	if head, err := frameHead(got); err != nil || string(head) != "{}" {
		t.Errorf("the head is %q (%v)", head, err)
	}
	for _, bad := range []string{"", "\x02\x00\x00", "\x03\x00\x00\x00{}"} {
		if _, err := frameHead([]byte(bad)); err == nil {
			t.Errorf("%q is taken for a frame", bad)
		}
	}
}
