package main

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"os/exec"
	"strings"
	"testing"
)

// TestTerminalQR_IsRead: a reader of QR codes that is not ours (zbarimg, Debian: zbar-tools) finds
// the link in what the terminal shows: light blocks on a dark ground, two modules to a character.
func TestTerminalQR_IsRead(t *testing.T) {
	reader, err := exec.LookPath("zbarimg")
	if err != nil {
		t.Skip("zbarimg is not installed; scripts/test -long installs it")
	}
	for _, link := range []string{"http://localhost:8420/join#BCDF-GHJK-LMNP",
		"https://a-rather-long-name-of-a-practice.home.arpa:8420/join#ZZZZ-XXXX-WWWW",
		"http://practice.home.arpa:8421/"} {
		text, err := terminalQR(link)
		if err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
		width := len([]rune(lines[0]))
		const scale = 6
		shown := image.NewGray(image.Rect(0, 0, width*scale, 2*len(lines)*scale))
		for y, line := range lines {
			for x, block := range []rune(line) {
				for half, light := range []string{"█▀", "█▄"} {
					if strings.ContainsRune(light, block) {
						fill(shown, x*scale, (2*y+half)*scale, scale)
					}
				}
			}
		}
		var file bytes.Buffer
		if err := png.Encode(&file, shown); err != nil {
			t.Fatal(err)
		}
		read := exec.CommandContext(t.Context(), reader, "-q", "--raw", "-")
		read.Stdin = &file
		got, err := read.Output()
		if err != nil || strings.TrimSpace(string(got)) != link {
			t.Errorf("%s is read as %q, %v", link, got, err)
		}
	}
}

func fill(m *image.Gray, left, top, size int) {
	for y := top; y < top+size; y++ {
		for x := left; x < left+size; x++ {
			m.SetGray(x, y, color.Gray{Y: 255})
		}
	}
}
