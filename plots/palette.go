package plots

import (
	"image/color"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// The colours differ in lightness too (about 25, 45 and 45 of 100, the last without hue), so that they stay apart in
// grey print; shape carries the meaning of the two that come close.
var (
	ink    = color.NRGBA{R: 0x16, G: 0x36, B: 0x62, A: 0xff} // the line and whatever is in order
	broken = color.NRGBA{R: 0xa8, G: 0x4f, B: 0x08, A: 0xff} // a rule was broken
	quiet  = color.NRGBA{R: 0x63, G: 0x68, B: 0x6e, A: 0xff} // guides and notes
	pale   = color.NRGBA{R: 0xe4, G: 0xea, B: 0xf2, A: 0xff} // inside of a box in order
	warm   = color.NRGBA{R: 0xfb, G: 0xee, B: 0xde, A: 0xff} // inside of a box out of order
	faint  = color.NRGBA{R: 0xee, G: 0xee, B: 0xee, A: 0xff} // nothing is known here
	rule   = color.NRGBA{R: 0xd3, G: 0xd6, B: 0xda, A: 0xff} // guides behind bars
	paper  = color.NRGBA{R: 0xff, G: 0xff, B: 0xff, A: 0xff}
)

// shade is ink thinned with paper: 0 is paper, 1 is ink.
func shade(part float64) color.NRGBA {
	mix := func(a, b uint8) uint8 { return uint8(float64(a)*(1-part) + float64(b)*part + 0.5) }
	return color.NRGBA{R: mix(paper.R, ink.R), G: mix(paper.G, ink.G), B: mix(paper.B, ink.B), A: 0xff}
}

// pixel is one dot of a picture of 96 dots an inch.
const pixel = vg.Length(0.75)

const (
	small  = vg.Length(8)
	medium = vg.Length(9)
	large  = vg.Length(11)
)

func lettering(size vg.Length, c color.Color, handler text.Handler) text.Style {
	return text.Style{Color: c, Font: font.Font{Typeface: "Liberation", Variant: "Sans", Size: size}, Handler: handler}
}

func stroke(c color.Color, width vg.Length, dashes ...vg.Length) draw.LineStyle {
	return draw.LineStyle{Color: c, Width: width, Dashes: dashes}
}
