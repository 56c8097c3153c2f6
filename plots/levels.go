package plots

import (
	"fmt"
	"math"

	"linewitness/capture"
	"linewitness/decode/verdict"
)

// fewestEdges is how many of a kind are worth a row: fewer are by chance.
const fewestEdges = 8

// levelRows are what the levels say by themselves; none where no volts were recorded.
func levelRows(v *verdict.Volts) (rows []pair) {
	if v == nil {
		return nil
	}
	unit := "V"
	switch {
	case v.Relative:
		unit = "of an unknown full scale"
	case v.Amperes:
		unit = "A"
	}
	add := func(what, value string) { rows = append(rows, pair{what, value}) }
	mark := "Mid"
	if v.Loop {
		mark = "Mark (mid)"
	}
	add("High", withUnit(v.High, unit))
	add(mark, withUnit(v.Mid, unit))
	add("Low", withUnit(v.Low, unit))
	if p := v.Place(); v.Loop && !math.IsNaN(p) {
		add("Mark between low and high", withUnit(100*p, "%"))
	}
	add("Noise about a level, standard deviation", withUnit(v.Noise, unit))
	add("Samples a bit", number(v.SamplesABit))
	if v.Feed != capture.SideUnknown {
		fed := v.Feed.String() + " unit"
		if v.FeedAssumed {
			fed += " (assumed, as most are: the sides change names if it is the other)"
		}
		add("The loop is fed by the", fed)
	}
	add("Mains found in the levels", mainsOf(v))
	add("Dips of the loop's supply", dipsOf(v))
	add("Spikes", fmt.Sprintf("%s, %d spikes up, %d down", count(int(v.Spikes.N), "episode"), v.Plus, v.Minus))
	add("Times beyond the outer levels", fmt.Sprint(v.Beyond.N))
	for _, e := range v.Edges {
		if e.N >= fewestEdges {
			shape := "sharp"
			if e.Curved {
				shape = "curved"
			}
			add(fmt.Sprintf("Edges from %s to %s", e.From, e.To), fmt.Sprintf("%s, time constant %s (%d measured)", shape, withUnit(1e6*e.Tau50, "µs"), e.N))
		}
	}
	if v.Clipped > 0 {
		add("Samples at full scale", fmt.Sprint(v.Clipped))
	}
	if v.Dropped != "" {
		add("Not judged", v.Dropped)
	}
	return rows
}

func mainsOf(v *verdict.Volts) string {
	if math.IsNaN(v.Hz) {
		return "none"
	}
	s := fmt.Sprintf("%s (peak: high %s, mid %s, low %s)", withUnit(v.Hz, "Hz"), number(v.Hum[capture.High]), number(v.Hum[capture.Mid]), number(v.Hum[capture.Low]))
	if v.Rectifier != 0 {
		s += ", " + v.Rectifier.String() + " recharge of the supply shows"
	}
	return s
}

func dipsOf(v *verdict.Volts) string {
	switch {
	case !(v.Judged > 0):
		return notMeasured
	case v.Dips.N == 0:
		return fmt.Sprintf("none in the %.0f %% of the time that could be judged", 100*v.Judged)
	}
	return fmt.Sprintf("%d, down to %.0f %%", v.Dips.N, 100*v.DipTo)
}
