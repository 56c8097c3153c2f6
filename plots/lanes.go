package plots

import (
	"fmt"
	"image/color"
	"strings"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

type (
	colour = color.Color
	placeX = func(capture.Tick) vg.Length
	placeY = func(float64) vg.Length
)

// narrow is the width under which a box would be no more than its own outline.
const narrow = 3 * pixel

// charBroken tells whether a character counts as out of order. A cut one proves nothing, an ignored pulse has its own
// mark in the lane of notes.
func charBroken(c *uart.Character) bool {
	return c.Fault&(uart.FaultParity|uart.FaultStop|uart.FaultBreak) != 0
}

func frameBroken(fr *link.Frame) bool { return fr.Why&^link.WhyCut != 0 }

func (f *figure) anyBroken() bool {
	for i := range f.e.Frames {
		if frameBroken(&f.e.Frames[i]) {
			return true
		}
		for j := range f.e.Frames[i].Chars {
			if charBroken(&f.e.Frames[i].Chars[j]) {
				return true
			}
		}
	}
	return false
}

func (f *figure) outside(from, to capture.Tick) bool { return to < f.e.From || from > f.e.To }

// characters draws a box from each start edge to the end of the stop element. Boxes too narrow to show become one
// solid run.
func (f *figure) characters(c draw.Canvas, x placeX, y placeY) {
	bottom, top := y(charBase), y(charTop)
	r := run{c: c, bottom: bottom, top: top}
	any := false
	for i := range f.e.Frames {
		for j := range f.e.Frames[i].Chars {
			ch := &f.e.Frames[i].Chars[j]
			if f.outside(ch.At, ch.End) {
				continue
			}
			any = true
			left, right := x(ch.At), x(ch.End)
			if right-left < narrow {
				r.add(left, max(right, left+pixel), charBroken(ch))
				continue
			}
			f.box(c, left, right, bottom, top, charBroken(ch))
			f.fit(c, f.lettering(small, f.tone(charBroken(ch))), left, right, (bottom+top)/2, f.hex(ch.Value))
		}
	}
	r.flush()
	if !any {
		f.none(c, bottom, top, "none read")
	}
}

// frames draws a box a frame with the longest label that fits, and the turn-around before a reply.
func (f *figure) frames(c draw.Canvas, x placeX, y placeY) {
	bottom, top := y(frameBase), y(frameTop)
	r := run{c: c, bottom: bottom, top: top}
	any := false
	for i := range f.e.Frames {
		fr := &f.e.Frames[i]
		if f.outside(fr.At, fr.End) {
			continue
		}
		any = true
		left, right := x(fr.At), x(fr.End)
		if right-left < narrow {
			r.add(left, max(right, left+pixel), frameBroken(fr))
			continue
		}
		f.box(c, left, right, bottom, top, frameBroken(fr))
		f.fit(c, f.lettering(small, f.tone(frameBroken(fr))), left, right, (bottom+top)/2, f.frameLabels(fr)...)
		if fr.Turnaround > 0 && fr.At-fr.Turnaround >= f.e.From {
			f.turnaround(c, x(fr.At-fr.Turnaround), left, (bottom+top)/2, f.clock.Seconds(fr.Turnaround))
		}
	}
	r.flush()
	if !any {
		f.none(c, bottom, top, "none read")
	}
}

func (f *figure) tone(out bool) colour {
	if out {
		return broken
	}
	return ink
}

// hex is a character's value as contract.md writes it: two digits, four for nine data bits.
func (f *figure) hex(v uint16) string {
	if f.line.Format.DataBits > 8 || v > 0xff {
		return fmt.Sprintf("%04X", v)
	}
	return fmt.Sprintf("%02X", v)
}

// frameLabels are a frame's labels from the fullest to the shortest.
func (f *figure) frameLabels(fr *link.Frame) []string {
	state := "ok"
	if fr.Why != 0 {
		state = strings.Join(fr.Why.Names(), "+")
	}
	who := fr.Side.String()
	switch fr.Side {
	case capture.SideUnknown:
		who = "side unknown"
	case capture.SideA, capture.SideB:
		who = "talker " + who
	}
	role := who
	switch {
	case fr.Poll:
		role += " polls"
	case fr.Turnaround >= 0 && fr.Side != capture.SideUnknown:
		role += " replies"
	}
	values := make([]string, 0, 4)
	for _, v := range fr.Values[:min(len(fr.Values), 64)] {
		values = append(values, f.hex(v))
	}
	if len(fr.Values) > 64 {
		values = append(values, "…")
	}
	whole := strings.Join(values, "")
	labels := []string{role + " · " + whole + " · " + state}
	if n := len(values); n > 4 {
		short := values[0] + values[1] + "…" + values[n-1]
		labels = append(labels, role+" · "+short+" · "+state, who+" · "+short+" · "+state)
	}
	return append(labels, role+" · "+state, who+" · "+state, state, who)
}

// turnaround is an arrow from the end of the poll to the reply, with its length where that fits.
func (f *figure) turnaround(c draw.Canvas, left, right, y vg.Length, s float64) {
	if right-left < 8 {
		return
	}
	st := stroke(quiet, 0.5)
	c.StrokeLine2(st, left, y-4, left, y+4)
	c.StrokeLine2(st, left, y, right-1, y)
	c.StrokeLine2(st, right-4, y+2, right-1, y)
	c.StrokeLine2(st, right-4, y-2, right-1, y)
	f.fit(c, f.lettering(small, quiet), left, right, y+6, "turn-around "+number(s*1e3)+" ms", number(s*1e3)+" ms")
}

// none says in an empty lane that it is empty.
func (f *figure) none(c draw.Canvas, bottom, top vg.Length, word string) {
	f.fit(c, f.lettering(small, quiet), c.Min.X, c.Max.X, (bottom+top)/2, word)
}

// box draws a box in order with a plain outline, one out of order dashed and with a cross over its corner.
func (f *figure) box(c draw.Canvas, left, right, bottom, top vg.Length, out bool) {
	if !out {
		fillBox(c, pale, left, right, bottom, top)
		c.SetLineStyle(stroke(ink, 0.5))
		outline(c, left, right, bottom, top)
		return
	}
	fillBox(c, warm, left, right, bottom, top)
	c.SetLineStyle(stroke(broken, 1.1, 3, 1.8))
	outline(c, left, right, bottom, top)
	cross(c, (left+right)/2, top+4)
}

func cross(c draw.Canvas, x, y vg.Length) {
	const half = 2.2
	st := stroke(broken, 1.1)
	c.StrokeLine2(st, x-half, y-half, x+half, y+half)
	c.StrokeLine2(st, x-half, y+half, x+half, y-half)
}

func fillBox(c draw.Canvas, clr colour, left, right, bottom, top vg.Length) {
	c.FillPolygon(clr, []vg.Point{{X: left, Y: bottom}, {X: right, Y: bottom}, {X: right, Y: top}, {X: left, Y: top}})
}

func outline(c draw.Canvas, left, right, bottom, top vg.Length) {
	var p vg.Path
	p.Move(vg.Point{X: left, Y: bottom})
	p.Line(vg.Point{X: right, Y: bottom})
	p.Line(vg.Point{X: right, Y: top})
	p.Line(vg.Point{X: left, Y: top})
	p.Close()
	c.Stroke(p)
}

// fit writes the first of the labels that fits between left and right, centred, or none.
func (f *figure) fit(c draw.Canvas, st text.Style, left, right, y vg.Length, labels ...string) {
	for _, l := range labels {
		if st.Width(l)+2 <= right-left {
			c.FillText(aligned(st, text.XCenter, text.YCenter), vg.Point{X: (left + right) / 2, Y: y}, l)
			return
		}
	}
}

func aligned(st text.Style, x text.XAlignment, y text.YAlignment) text.Style {
	st.XAlign, st.YAlign = x, y
	return st
}

// run gathers boxes too narrow to draw into solid ones; a run ends where a
// gap of a pixel shows or where order turns into disorder.
type run struct {
	c           draw.Canvas
	bottom, top vg.Length
	left, right vg.Length
	open, out   bool
}

func (r *run) add(left, right vg.Length, out bool) {
	if r.open && left <= r.right+pixel && out == r.out {
		r.right = max(r.right, right)
		return
	}
	if r.open && right <= r.right && !out {
		return
	}
	r.flush()
	r.left, r.right, r.open, r.out = left, right, true, out
}

func (r *run) flush() {
	if !r.open {
		return
	}
	if r.out {
		fillBox(r.c, broken, r.left, r.right, r.bottom, r.top)
		cross(r.c, (r.left+r.right)/2, r.top+4)
	} else {
		fillBox(r.c, ink, r.left, r.right, r.bottom, r.top)
	}
	r.open = false
}
