package output

import (
	"fmt"
	"math"
	"strings"

	"linewitness/capture"
	"linewitness/decode/validate"
	"linewitness/decode/verdict"
)

// levelsJSON is what levels say by themselves. Volts are amperes at a loop-current tap, and fractions of full scale where unit
// says so.
type levelsJSON struct {
	Count       int        `json:"count"`
	Unit        string     `json:"unit"`
	Low         number     `json:"low"`
	Mid         number     `json:"mid"`
	High        number     `json:"high"`
	Noise       number     `json:"noise"`
	NoiseOf     threeJSON  `json:"noise_by_level"`
	PlaceChange number     `json:"mark_to_high_change_pct"` // over the recording
	HighChange  number     `json:"high_change_pct"`
	MarkPlace   number     `json:"mark_place_pct"` // of the way from low (or 0 V) to high
	SamplesABit number     `json:"samples_a_bit"`
	FedBy       string     `json:"fed_by"`
	FedByTaken  bool       `json:"fed_by_assumed"`
	Coupled     bool       `json:"ac_coupled"`
	Effective   number     `json:"effective"` // of mains that stand alone: Urms(1/2), IEC 61000-4-30
	OnlyMains   bool       `json:"only_mains"`
	Clipped     int64      `json:"clipped"`
	Mains       mainsJSON  `json:"mains"`
	Dips        eventJSON  `json:"dips"`
	DipEvents   []dipJSON  `json:"dip_events"` // of the loop's supply, the first of them
	DipLowest   number     `json:"dip_lowest_pct"`
	Spikes      eventJSON  `json:"spikes"`
	Beyond      eventJSON  `json:"beyond"`
	BeyondMost  number     `json:"beyond_most"`
	Edges       []edgeJSON `json:"edges"`
}

type threeJSON struct {
	Low  number `json:"low"`
	Mid  number `json:"mid"`
	High number `json:"high"`
}

// dipJSON is a dip in terms of IEC 61000-4-30.
type dipJSON struct {
	At       moment `json:"at_s"`
	Duration moment `json:"duration_s"`
	Residual number `json:"residual_pct"`
	Depth    number `json:"depth_pct"`
}

type mainsJSON struct {
	Hz        number `json:"hz"`
	HzError   number `json:"hz_error"`
	Low       number `json:"low"`
	Mid       number `json:"mid"`
	High      number `json:"high"`
	Harmonics number `json:"harmonics"` // together, in the state that has most
	Rectifier string `json:"rectifier"`
}

type eventJSON struct {
	Count int64    `json:"count"`
	At    []moment `json:"at_s"`
}

type edgeJSON struct {
	From   string `json:"from"`
	To     string `json:"to"`
	Seen   int64  `json:"seen"`
	Tau    number `json:"time_constant_us"`
	Curved bool   `json:"curved"`
}

func newLevels(v *verdict.Volts, clock capture.Clock) *levelsJSON {
	if v == nil {
		return nil
	}
	events := func(t validate.Times) eventJSON {
		return eventJSON{t.N, each(t.At, func(at *capture.Tick) moment { return moment{*at, clock} })}
	}
	j := &levelsJSON{
		Count: v.Levels, Unit: levelUnit(v), Low: number(v.Low), Mid: number(v.Mid), High: number(v.High), Noise: number(v.Noise),
		NoiseOf:     threeJSON{number(v.NoiseOf[capture.Low]), number(v.NoiseOf[capture.Mid]), number(v.NoiseOf[capture.High])},
		PlaceChange: number(100 * v.PlaceMove), HighChange: number(100 * v.HighMove),
		MarkPlace: number(100 * v.Place()), SamplesABit: number(v.SamplesABit), FedBy: v.Feed.String(), FedByTaken: v.FeedAssumed,
		Coupled: v.Coupled, OnlyMains: v.OnlyMains, Effective: number(v.Effective), Clipped: v.Clipped,
		Mains: mainsJSON{number(v.Hz), number(v.HzErr), number(v.Hum[capture.Low]), number(v.Hum[capture.Mid]), number(v.Hum[capture.High]),
			number(largest(v.Ripple)), v.Rectifier.String()},
		Dips: events(v.Dips), DipLowest: number(100 * v.DipTo), Spikes: events(v.Spikes), Beyond: events(v.Beyond), BeyondMost: number(v.BeyondMost),
	}
	j.DipEvents = each(v.DipSpans, func(d *verdict.Span) dipJSON {
		return dipJSON{moment{d.From, clock}, moment{d.To - d.From, clock}, number(100 * d.Residual), number(100 * (1 - d.Residual))}
	})
	j.Edges = each(v.Edges, func(e *validate.EdgeShape) edgeJSON {
		return edgeJSON{e.From.String(), e.To.String(), e.Seen, number(1e6 * e.Tau50), e.Curved}
	})
	return j
}

func levelUnit(v *verdict.Volts) string {
	switch {
	case v.Relative:
		return "full scale"
	case v.Amperes:
		return "A"
	}
	return "V"
}

// largest is NaN where all are.
func largest(all [4]float64) float64 {
	most := math.NaN()
	for _, v := range all {
		if !(v <= most) && v == v {
			most = v
		}
	}
	return most
}

// levelLine says in one sentence where the levels stand.
func levelLine(v *verdict.Volts) string {
	unit := string(tied) + levelUnit(v)
	if v.Relative {
		unit = string(tied) + "of full scale (say --full-scale to have volts)"
	}
	parts := []string{}
	level := func(name string, x float64) {
		if !math.IsNaN(x) {
			parts = append(parts, name+" "+figures(x))
		}
	}
	mark := "mid"
	if v.Loop {
		mark = "mark"
	}
	level("low", v.Low)
	level(mark, v.Mid)
	level("high", v.High)
	switch {
	case v.OnlyMains && !math.IsNaN(v.Hz):
		return fmt.Sprintf("Levels: mains alone, %.2f%sHz, up to %s%s.", v.Hz, string(tied), figures(v.Peak), unit)
	case len(parts) == 0 && v.Levels == 1:
		return "Levels: a constant " + figures(v.Constant) + unit + "."
	case len(parts) == 0:
		return "Levels: none could be told apart."
	}
	s := "Levels: " + strings.Join(parts, ", ") + unit
	if p := v.Place(); v.Loop && !math.IsNaN(p) {
		s += fmt.Sprintf(", mark at %.0f%s%% of the supply", 100*p, string(tied))
	}
	if !math.IsNaN(v.SamplesABit) {
		s += fmt.Sprintf("; %s samples a bit", figures(v.SamplesABit))
	}
	if v.Loop && v.FeedAssumed {
		s += "; sides are named for a loop that the " + v.Feed.String() + " unit feeds, as most are: this recording does not show which does"
	}
	return s + "."
}

// figures is a quantity to three digits.
func figures(v float64) string {
	size := math.Abs(v)
	switch {
	case size == 0:
		return "0"
	case size >= 100:
		return trimmed(v, 0)
	case size >= 10:
		return trimmed(v, 1)
	case size >= 0.1:
		return trimmed(v, 2)
	}
	return fmt.Sprintf("%.2g", v)
}
