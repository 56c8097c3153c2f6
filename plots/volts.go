package plots

import (
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"linewitness/capture"
	"linewitness/decode/tally"
)

// scale puts volts into the height that two levels have on a figure without them.
type scale struct{ low, high float64 }

// scaleOf spans what an excerpt's volts did, and 0 V where that is near.
func scaleOf(e *tally.Excerpt) (s scale, ok bool) {
	if len(e.Volts) == 0 {
		return s, false
	}
	s.low, s.high = math.Inf(1), math.Inf(-1)
	for i := range e.Volts {
		s.low, s.high = math.Min(s.low, e.Volts[i].Low), math.Max(s.high, e.Volts[i].High)
	}
	if low := e.Usual[capture.Low]; len(e.Line.At) == 0 && !math.IsNaN(low) {
		s.low, s.high = math.Min(s.low, low), math.Max(s.high, low) // a fall is judged by how far is left to 0
	}
	if !(s.high-s.low > 1e-9*math.Max(math.Abs(s.high), math.Abs(s.low))) {
		s.low, s.high = s.low-1, s.high+1 // a constant gets room above and below
	}
	return s, !math.IsInf(s.high-s.low, 0) && !math.IsNaN(s.high-s.low)
}

// lane is the height of v.
func (s scale) lane(v float64) float64 { return 2 * (v - s.low) / (s.high - s.low) }

// shows tells whether v lies within what is drawn; NaN does not.
func (s scale) shows(v float64) bool {
	at := s.lane(v)
	return at >= -0.1 && at <= 2.1
}

// heightNames label the volts at which the levels stand, so far apart that they can be read.
func (f *figure) heightNames(names map[capture.Level]string) (ticks []plot.Tick) {
	const apart = 0.36
	heights := f.e.Heights()
	for l := capture.Low; l <= capture.High; l++ {
		if v := heights[l]; f.scale.shows(v) {
			ticks = append(ticks, plot.Tick{Value: f.scale.lane(v), Label: fmt.Sprintf("%s, %s V", names[l], number(v))})
		}
	}
	sort.Slice(ticks, func(i, j int) bool { return ticks[i].Value < ticks[j].Value })
	for i := 1; i < len(ticks); i++ {
		ticks[i].Value = math.Max(ticks[i].Value, ticks[i-1].Value+apart)
	}
	return ticks
}

// voltGuides are hairlines at the volts of the levels.
func (f *figure) voltGuides(c draw.Canvas, toY placeY) {
	for _, v := range f.e.Heights() {
		if f.scale.shows(v) {
			y := toY(f.scale.lane(v))
			c.StrokeLine2(stroke(faint, 0.5), c.Min.X, y, c.Max.X, y)
		}
	}
}

// voltTrace draws the volts: between columns straight lines, within one its lowest to its highest value.
func (f *figure) voltTrace(c draw.Canvas, x placeX, toY placeY) {
	p := pen{c: c}
	c.SetLineStyle(stroke(ink, pixel*1.25))
	wide := int((c.Max.X - c.Min.X) / pixel)
	each := max(1, len(f.e.Volts)/max(wide, 1))
	for i := 0; i < len(f.e.Volts); i += each {
		low, high := f.e.Volts[i].Low, f.e.Volts[i].High
		for j := i + 1; j < min(i+each, len(f.e.Volts)); j++ {
			low, high = math.Min(low, f.e.Volts[j].Low), math.Max(high, f.e.Volts[j].High)
		}
		here := x(f.e.Volts[i].At)
		if i == 0 {
			p.move(vg.Point{X: here, Y: toY(f.scale.lane(low))})
		}
		p.line(vg.Point{X: here, Y: toY(f.scale.lane(low))})
		p.line(vg.Point{X: here, Y: toY(f.scale.lane(high))})
	}
	p.flush()
}
