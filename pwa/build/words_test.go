package main

import "testing"

// TestFold_Lines is worked by hand: a heading once for keys that begin alike, and one for those
// without a dot.
func TestFold_Lines(t *testing.T) {
	got, err := fold(map[string]string{"page.no": "No", "page.back.to": "Back to {name}",
		"set": "Set", "side.left": "the left side"})
	want := "page\nback.to Back to {name}\nno No\n\nset Set\nside\nleft the left side"
	if err != nil || got != want {
		t.Errorf("got %q, %v, want %q", got, err, want)
	}
}

// TestFold_Refuses lists what would come back as something else.
func TestFold_Refuses(t *testing.T) {
	for key, message := range map[string]string{"page. no": "No", "a\nb": "No", "page.no": "N\no"} {
		if got, err := fold(map[string]string{key: message}); err == nil {
			t.Errorf("%q: %q was taken: %q", key, message, got)
		}
	}
}
