package plots

import (
	"fmt"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/tally"
)

// courseOf shows frames and errors of each sender over the whole recording, and what the line did meanwhile.
func courseOf(f *decode.Finding) (Chart, bool) {
	clock := f.Recording.Clock
	var strips []strip
	frames, bad := int64(0), int64(0)
	wide := 0.
	for _, s := range f.Sums {
		st := strip{name: nameOf(s.Side) + ", frames"}
		st.bars, wide = trafficOf(s, clock)
		for _, b := range st.bars {
			frames, bad = frames+int64(b.value), bad+int64(b.bad)
		}
		strips = append(strips, st)
	}
	if frames == 0 {
		return Chart{}, false
	}
	volts := false
	for i := range f.Envelope.Len() {
		_, s := f.Envelope.Column(i)
		volts = volts || s.Samples > 0
	}
	line, height := changesOf(&f.Envelope, clock), "frames and transitions, in a column"
	if volts {
		line, height = bandOf(&f.Envelope, clock, f), "frames in a column; "+unitOf(f.Volts)
	}
	c := Chart{Name: "errors", Title: "Frames and errors over time"}
	c.Caption = fmt.Sprintf("%d frames, %d of them bad (drawn over the rest in the colour of faults), in columns of %s. ", frames, bad, withUnit(wide, "s"))
	if volts {
		c.Caption += "Below: from the lowest to the highest value of the line in each column."
	} else {
		c.Caption += "Below: how often the line's level changed."
	}
	c.Plot = newChart(c.Title, "time on the recording's axis, s", height, clock.Seconds(f.Recording.From), clock.Seconds(f.Recording.To), within, append(strips, line)...)
	return c, true
}

// Columns of time are joined in twos for the picture until they are so few, or hold so many frames each on an average, but not to fewer
// than the least: columns of one frame show no rate.
const (
	mostBars   = 64
	leastBars  = 16
	framesABar = 5
)

// trafficOf are a sender's frames over time, and the width of a column, s.
func trafficOf(s *tally.Sums, clock capture.Clock) (all []bar, wide float64) {
	frames := int64(0)
	for i := range s.Time.Len() {
		_, t := s.Time.Column(i)
		frames += t.Frames
	}
	each := int64(1)
	for n := int64(s.Time.Len()); n > mostBars*each || n >= 2*leastBars*each && frames*each < framesABar*n; {
		each *= 2
	}
	width := each * s.Time.Width()
	for i := range s.Time.Len() {
		from, t := s.Time.Column(i)
		from -= (from%width + width) % width
		at := clock.Seconds(capture.Tick(from))
		if n := len(all); n == 0 || all[n-1].from != at {
			all = append(all, bar{from: at, to: clock.Seconds(capture.Tick(from + width))})
		}
		b := &all[len(all)-1]
		b.value, b.bad = b.value+float64(t.Frames), b.bad+float64(t.Bad)
	}
	return all, clock.Seconds(capture.Tick(width))
}

// within places ticks as steps does, at multiples of the step wherever the axis begins.
func within(low, high float64) (all []plot.Tick) {
	for _, v := range round(low, high, 9) {
		all = append(all, plot.Tick{Value: v, Label: number(v)})
	}
	return all
}

// changesOf are the transitions over time.
func changesOf(e *tally.Envelope, clock capture.Clock) strip {
	st := strip{name: "the line, transitions"}
	for i := range e.Len() {
		from, s := e.Column(i)
		st.bars = append(st.bars, bar{from: clock.Seconds(capture.Tick(from)), to: clock.Seconds(capture.Tick(from + e.Width())), value: float64(s.Changes)})
	}
	return st
}

// bandOf is the band between the lowest and the highest value over time.
func bandOf(e *tally.Envelope, clock capture.Clock, f *decode.Finding) strip {
	low, high := math.Inf(1), math.Inf(-1)
	for i := range e.Len() {
		if _, s := e.Column(i); s.Samples > 0 {
			low, high = math.Min(low, s.Low), math.Max(high, s.High)
		}
	}
	if !(high > low) {
		low, high = low-1, high+1
	}
	at := func(v float64) float64 { return (v - low) / (high - low) }
	st := strip{share: 1.4}
	for _, v := range round(low, high, 4) {
		st.ticks = append(st.ticks, plot.Tick{Value: at(v), Label: numberOf(v, f.Volts)})
	}
	st.picture = func(c draw.Canvas, x, y placeY) {
		if low < 0 && high > 0 {
			c.StrokeLine2(stroke(quiet, 0.5), c.Min.X, y(at(0)), c.Max.X, y(at(0)))
		}
		for i := range e.Len() {
			from, s := e.Column(i)
			if s.Samples == 0 {
				continue
			}
			left, right := x(clock.Seconds(capture.Tick(from))), x(clock.Seconds(capture.Tick(from+e.Width())))
			fillBox(c, shade(0.6), max(left, c.Min.X), min(right+pixel/2, c.Max.X), y(at(s.Low)), max(y(at(s.High)), y(at(s.Low))+vg.Length(0.75)))
		}
	}
	return st
}
