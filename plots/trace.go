package plots

import (
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"linewitness/capture"
	"linewitness/decode/tally"
)

// column is what one pixel's width of the line shows: the level on entering, the lowest and highest inside, the level
// on leaving. Low and high are Unknown where no level in it is known. x is where it is drawn, in pixels: a lone
// transition at its very instant, so that thinning never looks like distortion, several in the middle.
type column struct {
	at                    int
	x                     float64
	entry, low, high, out capture.Level
}

// span is an interval in pixels from the left.
type span struct{ from, to int }

// thin reduces an excerpt to at most wide columns, those in which something happened, and to the intervals of which
// nothing is known.
func thin(e *tally.Excerpt, wide int) (cols []column, unknown []span) {
	level, since := e.First, 0
	length := float64(e.To) - float64(e.From)
	for i := range min(len(e.Line.At), len(e.Line.To)) {
		at, to := e.Line.At[i], e.Line.To[i]
		if at < e.From {
			level = to
			continue
		}
		if at > e.To {
			break
		}
		exact := 0.0
		if length > 0 {
			exact = (float64(at) - float64(e.From)) / length * float64(wide)
		}
		x := min(int(exact), wide-1)
		if n := len(cols); n == 0 || cols[n-1].at != x {
			cols = append(cols, column{at: x, x: exact, entry: level, low: level, high: level})
		} else {
			cols[n-1].x = float64(x) + 0.5
		}
		c := &cols[len(cols)-1]
		switch {
		case to == capture.Unknown:
		case c.low == capture.Unknown:
			c.low, c.high = to, to
		default:
			c.low, c.high = min(c.low, to), max(c.high, to)
		}
		if level == capture.Unknown && to != capture.Unknown {
			unknown = join(unknown, span{since, x})
		}
		if to == capture.Unknown && level != capture.Unknown {
			since = x
		}
		level, c.out = to, to
	}
	if level == capture.Unknown {
		unknown = join(unknown, span{since, wide})
	}
	return cols, unknown
}

// join appends s, or lets the last span grow where the two touch.
func join(all []span, s span) []span {
	if n := len(all); n > 0 && s.from <= all[n-1].to {
		all[n-1].to = max(all[n-1].to, s.to)
		return all
	}
	return append(all, s)
}

// pen strokes a path in pieces of few segments.
type pen struct {
	c    draw.Canvas
	path vg.Path
	pos  vg.Point
	down bool
}

const segmentsAPiece = 16

func (p *pen) move(to vg.Point) {
	p.flush()
	p.pos, p.down = to, true
}

func (p *pen) line(to vg.Point) {
	if to == p.pos {
		return
	}
	if len(p.path) == 0 {
		p.path.Move(p.pos)
	}
	p.path.Line(to)
	p.pos = to
	if len(p.path) > segmentsAPiece {
		p.flush()
	}
}

func (p *pen) flush() {
	if len(p.path) > 1 {
		p.c.Stroke(p.path)
	}
	p.path = p.path[:0]
}

// trace draws the level over time.
func (f *figure) trace(c draw.Canvas, height func(capture.Level) vg.Length) {
	wide := int((c.Max.X - c.Min.X) / pixel)
	if wide < 1 {
		return
	}
	cols, unknown := thin(&f.e, wide)
	scale := (c.Max.X - c.Min.X) / vg.Length(wide) // a pixel, and what rounding left over

	for _, s := range unknown {
		f.blank(c, c.Min.X+vg.Length(s.from)*scale, c.Min.X+vg.Length(s.to)*scale, height(capture.Low), height(capture.High))
	}

	p := pen{c: c}
	c.SetLineStyle(stroke(ink, pixel*1.25)) // neighbours overlap, so that no seam shows where a page scales the figure
	last := f.e.First
	if last != capture.Unknown {
		p.move(vg.Point{X: c.Min.X, Y: height(last)})
	}
	for _, col := range cols {
		here := c.Min.X + vg.Length(col.x)*scale
		first := col.entry
		if first == capture.Unknown {
			if first = col.low; first == capture.Unknown {
				continue
			}
			p.move(vg.Point{X: here, Y: height(first)})
		}
		p.line(vg.Point{X: here, Y: height(first)})
		p.line(vg.Point{X: here, Y: height(col.low)})
		p.line(vg.Point{X: here, Y: height(col.high)})
		if last = col.out; last != capture.Unknown {
			p.line(vg.Point{X: here, Y: height(last)})
		}
	}
	if last != capture.Unknown {
		p.line(vg.Point{X: c.Max.X, Y: height(last)})
	}
	p.flush()
}

// blank covers a stretch of which nothing is known.
func (f *figure) blank(c draw.Canvas, left, right, bottom, top vg.Length) {
	fillBox(c, faint, left, right, bottom, top)
	c.SetLineStyle(stroke(quiet, 0.5, 1, 2))
	outline(c, left, right, bottom, top)
	f.fit(c, f.lettering(small, quiet), left, right, (bottom+top)/2, "not known")
}
