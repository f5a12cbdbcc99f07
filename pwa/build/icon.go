package main

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
)

// The icon is the product's one motif: a plumb line with its diamond bob, and two equal bars that
// grow outward from it. It is drawn here so that every size is sharp and none is a binary in the
// repository. Lengths are fractions of the drawing's side; x runs right, y down, 0 in the middle.

type paint uint8

const (
	nothing paint = iota
	line
	bar
)

// at tells what the drawing shows at a point.
func at(x, y float64) paint {
	side := math.Abs(x)
	if side+math.Abs(y-0.34) <= 0.095 { // the bob
		return line
	}
	if side <= 0.018 && y >= -0.42 && y <= 0.34 {
		return line
	}
	if side >= 0.055 && side <= 0.36 && y >= -0.17 && y <= 0.05 {
		return bar
	}
	return nothing
}

// icon is one picture: scale shrinks the drawing, corner rounds the ground (both as fractions).
type icon struct {
	file                string
	side                int
	scale, corner       float64
	ground, lines, bars color.NRGBA
}

var (
	ink    = color.NRGBA{0x14, 0x20, 0x1b, 0xff}
	paper  = color.NRGBA{0xff, 0xff, 0xff, 0xff}
	plumb  = color.NRGBA{0xff, 0x77, 0xb7, 0xff} // the accent of the dark scheme, for the ink ground
	absent = color.NRGBA{}
)

// icons are all pictures of the app. A maskable icon may be cut to a circle of 80 % of its side, so
// its drawing is shrunk to stay inside: the farthest point, the end of the line or a bar's corner,
// lies 0.44 from the middle, and 0.44 × 0.85 < 0.4.
var icons = []icon{
	{"icons/any-192.png", 192, 1, 0.1, ink, plumb, paper},
	{"icons/any-512.png", 512, 1, 0.1, ink, plumb, paper},
	{"icons/maskable-192.png", 192, 0.85, 0, ink, plumb, paper},
	{"icons/maskable-512.png", 512, 0.85, 0, ink, plumb, paper},
	{"icons/monochrome-512.png", 512, 0.85, 0, absent, paper, paper},
	{"icons/shortcut-96.png", 96, 0.9, 0.1, ink, plumb, paper},
	{"icons/apple-touch-180.png", 180, 0.9, 0, ink, plumb, paper},
}

// colour is the icon's paint at a point given as fractions of its side from the middle.
func (i icon) colour(x, y float64) color.NRGBA {
	if r := i.corner; r > 0 {
		dx, dy := math.Abs(x)-(0.5-r), math.Abs(y)-(0.5-r)
		if dx > 0 && dy > 0 && math.Hypot(dx, dy) > r {
			return absent
		}
	}
	switch at(x/i.scale, y/i.scale) {
	case line:
		return i.lines
	case bar:
		return i.bars
	}
	return i.ground
}

// draw samples each pixel four by four, so that the bob's slopes are smooth.
func (i icon) draw() *image.NRGBA {
	const samples = 4
	img := image.NewNRGBA(image.Rect(0, 0, i.side, i.side))
	step := 1 / float64(i.side*samples)
	for py := range i.side {
		for px := range i.side {
			var r, g, b, a int
			for s := range samples * samples {
				x := (float64(px*samples+s%samples)+0.5)*step - 0.5
				y := (float64(py*samples+s/samples)+0.5)*step - 0.5
				c := i.colour(x, y)
				r += int(c.R) * int(c.A)
				g += int(c.G) * int(c.A)
				b += int(c.B) * int(c.A)
				a += int(c.A)
			}
			if a == 0 {
				continue
			}
			img.SetNRGBA(px, py, color.NRGBA{uint8(r / a), uint8(g / a), uint8(b / a),
				uint8(a / (samples * samples))})
		}
	}
	return img
}

func addIcons(s site) error {
	for _, i := range icons {
		var out bytes.Buffer
		encoder := png.Encoder{CompressionLevel: png.BestCompression}
		if err := encoder.Encode(&out, i.draw()); err != nil {
			return fmt.Errorf("draw %s: %w", i.file, err)
		}
		s[i.file] = out.Bytes()
	}
	return nil
}
