package plots

import (
	"fmt"
	"sort"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"linewitness/capture"
)

// note is something at an instant, with the words to it.
type note struct {
	at    capture.Tick
	label string
	pulse bool
}

// gather puts the excerpt's notes and glitches in order of time. Notes come first at the same instant.
func (f *figure) gather() []note {
	var all []note
	for _, n := range f.e.Notes {
		if !f.outside(n.At, n.At) {
			all = append(all, note{at: n.At, label: clean(n.Label, 40)})
		}
	}
	for _, g := range f.e.Glitches {
		if !f.outside(g.At, g.At) {
			what := "space"
			if g.Mark {
				what = "mark"
			}
			all = append(all, note{at: g.At, pulse: true,
				label: fmt.Sprintf("short %s %s µs", what, number(f.clock.Seconds(g.Width)*1e6))})
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].at < all[j].at })
	return all
}

// notes draws a tick a note, and its label in the first row that has room. What has no room is counted at the right.
// Notes are placed before glitches: there are fewer of them and they say more.
func (f *figure) notes(c draw.Canvas, x placeX, y placeY) {
	all := f.gather()
	foot, top := y(lane(capture.Low)), y(noteBase+noteRows*noteStep)
	if len(all) == 0 {
		f.none(c, y(noteBase), top, "none")
		return
	}
	var taken [noteRows][]reserved
	counter := f.lettering(small, quiet)
	taken[noteRows-1] = append(taken[noteRows-1], reserved{c.Max.X - 70, c.Max.X + 1})
	missed := 0
	for _, pulses := range []bool{false, true} {
		last := c.Min.X - 1
		for _, n := range all {
			if n.pulse != pulses {
				continue
			}
			at := x(n.at)
			if at-last >= pixel {
				f.tick(c, at, foot, y(noteBase), pulses)
				last = at
			}
			if !f.place(c, &taken, n, at, y) {
				missed++
			}
		}
	}
	if missed > 0 {
		c.FillText(aligned(counter, text.XRight, text.YCenter),
			vg.Point{X: c.Max.X, Y: y(noteBase + (noteRows-0.5)*noteStep)}, fmt.Sprintf("%d more unnamed", missed))
	}
}

type reserved struct{ left, right vg.Length }

// place writes a label beside its tick, to the right, else to the left.
func (f *figure) place(c draw.Canvas, taken *[noteRows][]reserved, n note, at vg.Length, y placeY) bool {
	st := f.lettering(small, f.tone(!n.pulse))
	if n.label == "" {
		return true
	}
	const gap = 3
	w := st.Width(n.label)
	for row := range taken {
		for _, left := range []vg.Length{at + gap, at - gap - w} {
			if left < c.Min.X || left+w > c.Max.X || !free(taken[row], left-gap, left+w+gap) {
				continue
			}
			taken[row] = append(taken[row], reserved{left, left + w})
			c.FillText(aligned(st, text.XLeft, text.YCenter),
				vg.Point{X: left, Y: y(noteBase + (float64(row)+0.5)*noteStep)}, n.label)
			if row > 0 {
				c.StrokeLine2(stroke(quiet, 0.4), at, y(noteBase), at, y(noteBase+(float64(row)+0.5)*noteStep))
			}
			return true
		}
	}
	return false
}

func free(row []reserved, left, right vg.Length) bool {
	for _, r := range row {
		if left < r.right && right > r.left {
			return false
		}
	}
	return true
}

// tick marks an instant: a dotted hairline through the trace, and at its head an open triangle for a note, a short
// stroke for a pulse.
func (f *figure) tick(c draw.Canvas, x, foot, head vg.Length, pulse bool) {
	if pulse {
		c.StrokeLine2(stroke(ink, 0.9), x, head-5, x, head+5)
		return
	}
	c.StrokeLine2(stroke(broken, 0.5, 1.5, 2), x, foot, x, head)
	c.SetLineStyle(stroke(broken, 0.8))
	var p vg.Path
	p.Move(vg.Point{X: x, Y: head - 3})
	p.Line(vg.Point{X: x - 2.5, Y: head + 3})
	p.Line(vg.Point{X: x + 2.5, Y: head + 3})
	p.Close()
	c.Stroke(p)
}
