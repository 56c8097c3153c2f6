package plots

import (
	"fmt"
	"math"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/tally"
)

// Charts are the figures of the recording as a whole, in the order in which they are shown: an eye for each sender, lengths of pulses,
// waits between frames, the mains' phase, and errors over time. What was not measured has no figure.
func Charts(f *decode.Finding) (all []Chart) {
	clock := f.Recording.Clock
	if f.Link == nil || !clock.Valid() || !(f.Link.Speed() > 0) {
		return nil
	}
	unit := 1 / f.Link.Speed()
	for _, s := range f.Sums {
		if s.Whole.Characters+s.Damaged.Characters > 0 {
			all = append(all, eyeOf(s, unit, f.Volts))
		}
	}
	if c, ok := pulsesOf(f.Sums, unit); ok {
		all = append(all, c)
	}
	if c, ok := waitsOf(f.Sums, clock, unit); ok {
		all = append(all, c)
	}
	if c, ok := phasesOf(f.Sums); ok {
		all = append(all, c)
	}
	if c, ok := courseOf(f); ok {
		all = append(all, c)
	}
	return all
}

// nameOf is how a figure calls a sender.
func nameOf(side capture.Side) string {
	switch side {
	case capture.SideUnknown:
		return "the sender"
	case capture.SideA, capture.SideB:
		return "talker " + side.String()
	}
	return side.String() + " unit"
}

// fileOf is how a file is called for a sender.
func fileOf(side capture.Side) string {
	if side == capture.SideUnknown {
		return "sender"
	}
	return side.String()
}

// pulsesOf shows how long marks and spaces were.
func pulsesOf(sums []*tally.Sums, unit float64) (Chart, bool) {
	var strips []strip
	most, n, long := 0, int64(0), int64(0)
	for _, s := range sums {
		for _, state := range []int{tally.Mark, tally.Space} {
			p := &s.Pulses[state]
			if p.N() == 0 {
				continue
			}
			st := strip{name: nameOf(s.Side) + [...]string{", marks", ", spaces"}[state], log: true}
			last := len(p.Bins) - 1
			for i, count := range p.Bins[:last] {
				if count > 0 {
					most = max(most, i+1)
				}
				st.bars = append(st.bars, bar{from: p.Bits(i), to: p.Bits(i + 1), value: float64(count)})
			}
			n, long = n+p.N(), long+p.Bins[last]
			strips = append(strips, st)
		}
	}
	if n == 0 {
		return Chart{}, false
	}
	for i := range strips {
		strips[i].bars = strips[i].bars[:most]
	}
	high := math.Ceil(float64(most)/tally.PulseSteps + 0.25)
	c := Chart{Name: "pulses", Title: "How long marks and spaces are"}
	c.Caption = fmt.Sprintf("%d marks and spaces inside frames, by length. On a sound line they stand at whole numbers of unit intervals of %s; "+
		"marks long and spaces short by the same part are bias.", n, withUnit(unit*1e6, "µs"))
	if long > 0 {
		c.Caption += fmt.Sprintf(" %d were longer than %g unit intervals and are left out.", long, (&tally.Pulses{}).Bits(len(tally.Pulses{}.Bins)-1))
	}
	c.Plot = newChart(c.Title, fmt.Sprintf("length in unit intervals of %s", withUnit(unit*1e6, "µs")),
		fmt.Sprintf("pulses in 1/%d unit interval, logarithmic", tally.PulseSteps), 0, high, wholes, strips...)
	return c, true
}

// atOnce is the part of a unit interval that no sender can keep: what follows sooner overlaps, or was read so.
const atOnce = 0.1

// waitsOf shows how long each side waited for the other.
func waitsOf(sums []*tally.Sums, clock capture.Clock, unit float64) (Chart, bool) {
	var strips []strip
	low, high, n, left := math.Inf(1), math.Inf(-1), int64(0), int64(0)
	for i, s := range sums {
		if s.Waits.N() == 0 {
			continue
		}
		what := "replies"
		switch {
		case len(sums) == 1:
			what = "frames"
		case i == 0:
			what = "polls"
		}
		st := strip{name: nameOf(s.Side) + ", " + what, log: true}
		for k, count := range s.Waits.Bins {
			from, to := s.Waits.Edges(k)
			switch {
			case count == 0:
				continue
			case clock.Seconds(from) < atOnce*unit:
				left += count
				continue
			}
			a, b := math.Log10(clock.Seconds(from)*1e3), math.Log10(clock.Seconds(to)*1e3)
			low, high = math.Min(low, a), math.Max(high, b)
			st.bars = append(st.bars, bar{from: a, to: b, value: float64(count)})
			n += count
		}
		strips = append(strips, st)
	}
	if n == 0 {
		return Chart{}, false
	}
	c := Chart{Name: "turnaround", Title: "How long each side waits for the other"}
	c.Caption = fmt.Sprintf("%d waits, each from the end of one frame to the first edge of the next: a reply's is its turn-around, a poll's the rest since the reply before it.", n)
	if len(sums) == 1 {
		c.Title = "How long the sender waits from frame to frame"
		c.Caption = fmt.Sprintf("%d waits, each from the end of one frame to the first edge of the next.", n)
	}
	if left > 0 {
		c.Caption += fmt.Sprintf(" %d more followed at once or before the other had ended, and are left out.", left)
	}
	margin := 0.05 + 0.05*(high-low)
	c.Plot = newChart(c.Title, "from the end of the frame before, ms, logarithmic", "frames, logarithmic", low-margin, high+margin, decades, strips...)
	return c, true
}

// phasesOf shows at which phase of the mains characters were good and bad.
func phasesOf(sums []*tally.Sums) (Chart, bool) {
	var all tally.Phases
	for _, s := range sums {
		all.Merge(&s.Phases)
	}
	good, bad := all.N()
	if good+bad == 0 {
		return Chart{}, false
	}
	const each = 360. / tally.PhaseBins
	strips := []strip{{name: "bad characters"}, {name: "good characters"}}
	for i := range tally.PhaseBins {
		from, to := float64(i)*each, float64(i+1)*each
		strips[0].bars = append(strips[0].bars, bar{from, to, float64(all.Bad[i]), float64(all.Bad[i])})
		strips[1].bars = append(strips[1].bars, bar{from, to, float64(all.Good[i]), 0})
	}
	c := Chart{Name: "phase", Title: "Errors and good characters over the cycle of the mains"}
	c.Caption = fmt.Sprintf("%d bad and %d good characters by the phase of the mains at their start edge; 0 is where the tracking began. "+
		"Errors follow the mains only where they crowd at phases at which good characters do not.", bad, good)
	c.Plot = newChart(c.Title, "phase of the mains, degrees", fmt.Sprintf("characters in %g degrees", each), 0, 360, sixths, strips...)
	return c, true
}
