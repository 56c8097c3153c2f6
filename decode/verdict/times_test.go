package verdict

import (
	"math"
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// levelsOf is a loop at the indoor terminal, fed outdoors, of which nothing but levels is known.
func levelsOf(change func(v *Volts)) map[Key]float64 {
	nan := math.NaN()
	v := &Volts{Loop: true, Levels: 3, Low: 2.8, Mid: 17.8, High: 33, Noise: 0.02, Seconds: 60, Feed: capture.Outdoor, TauBits: nan, DipTo: nan, Hz: nan,
		PlaceMove: nan, HighMove: nan, MarkNoise: nan, MarkErr: nan, Judged: 1, Hum: [4]float64{nan, nan, nan, nan}, Ripple: [4]float64{nan, nan, nan, nan}}
	change(v)
	p := map[Key]float64{}
	for _, c := range Judge(Input{Volts: v, Tap: capture.IndoorTerminal, Changes: 3000}).Candidates {
		p[c.Key] = c.Probability
	}
	return p
}

// What moves mark at some times shows in which levels go along (circuit of the loop: a leak draws the supply down and lifts mark against
// it, the supply moves both alike, a joint mark alone).
func TestLevelsAtTwoTimes(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name      string
		mid, high float64
		want      cause.Cause
		than      cause.Cause
	}{
		{"leak", 13.3, 20, cause.Leakage, cause.PoorJoint},
		{"joint", 12, 33, cause.PoorJoint, cause.Leakage},
		{"supply", 12.8, 23.5, cause.VoltageSag, cause.PoorJoint},
	} {
		p := levelsOf(func(v *Volts) {
			v.Shift = validate.Shift{Bins: [2]int{30, 30}, Low: [2]float64{2.8, 2.8}, Mid: [2]float64{17.8, c.mid}, High: [2]float64{33, c.high}}
		})
		if a, b := p[Key{c.want, capture.Line}], p[Key{c.than, capture.Line}]; a < 4*b {
			t.Errorf("%s: %v has %.3f, %v %.3f", c.name, c.want, a, c.than, b)
		}
	}
}

// A line that swings with the mains about mark hums; about anything else nobody drives it; by more than its supply L stands there; twice
// in a period the supply has lost its smoothing.
func TestLinesThatSwing(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name        string
		volts, mean float64
		twice       float64
		want, than  Key
	}{
		{"hum", 9, 17.8, 0.1, Key{cause.MainsHum, capture.Line}, Key{cause.OpenConductor, capture.Line}},
		{"adrift", 9, -4, 0.1, Key{cause.OpenConductor, capture.Line}, Key{cause.MainsHum, capture.Line}},
		{"L", 150, 0, 0.1, Key{cause.ReversedConductors, capture.Line}, Key{cause.MainsHum, capture.Line}},
		{"rectified", 0.2, 16, 9, Key{cause.LoopSupply, capture.Outdoor}, Key{cause.MainsHum, capture.Line}},
	} {
		p := levelsOf(func(v *Volts) {
			v.Swing = validate.Swings{Windows: 300, Swinging: 100, Volts: c.volts, Twice: c.twice, Mean: c.mean}
		})
		if p[c.want] < 4*p[c.than] {
			t.Errorf("%s: %v has %.3f, %v %.3f", c.name, c.want, p[c.want], c.than, p[c.than])
		}
	}
}

// Whoever reads no more than the answer is told that L stands on the line.
func TestLiveLineIsSaid(t *testing.T) {
	t.Parallel()
	for _, volts := range []float64{9, 150} {
		nan := math.NaN()
		v := &Volts{Loop: true, Levels: 3, Low: 2.8, Mid: 17.8, High: 33, Seconds: 60, Feed: capture.Outdoor, TauBits: nan, DipTo: nan, Hz: nan, PlaceMove: nan,
			HighMove: nan, MarkNoise: nan, MarkErr: nan, Judged: nan, Swing: validate.Swings{Windows: 300, Swinging: 100, Volts: volts, Mean: 17.8}}
		j := Judge(Input{Volts: v, Tap: capture.IndoorTerminal, Changes: 3000})
		if said := strings.Contains(j.Verdict.Summary, "may be live"); said != (volts > 100) {
			t.Errorf("%v V: %s", volts, j.Verdict.Summary)
		}
	}
}
