package validate

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/statistic"
)

const noEdges = "no frame of this sender was whole and had its edges told apart"

// jitterFacts lists distortion and jitter of one sender.
func (f *Fold) jitterFacts(dst []Fact, i int) []Fact {
	s, j := &f.Senders[i], &f.jitter[i]
	// Instants are whole ticks; where frames repeat, their rounding repeats too, so that it does not average out but over the
	// contents of some ten characters.
	floor := rounding * f.p.Speed() / f.clock.PerSecond() / math.Sqrt(differ)
	dst = append(dst, j.startStop("time.start-stop", s.Side, &j.gross), j.startStop("time.start-stop-synchronous", s.Side, &j.sync),
		j.worst("time.start-stop-late", s.Side, j.late), j.worst("time.start-stop-early", s.Side, j.early), f.biasTrend(s.Side, j),
		j.randomFact(s.Side))
	for g, id := range [...]string{"time.pattern-after-spaces", "time.pattern-after-marks"} {
		dst = append(dst, j.patternFact(id, s.Side, g, floor))
	}
	return append(dst, j.hum.fact("time.mains-locked", s.Side))
}

// soundShift is how far cable, drivers and samples of a sound line may move edges with the pattern, the mains or in time, of the unit
// interval: P is the chance of a value so far beyond it. An assumption: by check-values 3.5 the capacitance of 30 m of cable takes 0.6
// to 11 %, of which a pattern shows a part; sound lines as they are staged show up to 2.2 %.
const soundShift = 0.03

const (
	rounding = 0.29 // standard deviation of an instant within a tick, of the tick
	differ   = 10   // characters that differ
)

// startStop is the median over frames of the degree of start-stop distortion, in per cent of the unit interval: the largest
// displacement of an edge from its character's start edge, either way (FED-STD-1037C), against the nominal rate (gross) or the
// frame's own mean rate (synchronous; ITU-T R.140). Interval as of medianOf. Vectors: check-values 2.3, first and third example.
func (j *jitter) startStop(id string, side capture.Side, s *Sketch) Fact {
	x := newFact(id, side, "%")
	medianOf(&x, s, 100, noEdges)
	return x
}

// worst is the largest displacement in one direction over all frames that broke no rule, late positive (gross start-stop distortion,
// FED-STD-1037C, over the time of observation), and where. An extreme has no interval. Vector: check-values 2.3, second example.
func (j *jitter) worst(id string, side capture.Side, e extreme) Fact {
	x := newFact(id, side, "%")
	if x.N = j.gross.N(); x.N == 0 {
		x.Unmeasured = noEdges
		return x
	}
	x.Value = 100 * e.value
	if e.value != 0 {
		x.Times = Times{N: 1, At: []capture.Tick{e.at}}
	}
	return x
}

// mostTrendBins bounds the stretches of time that a trend is tested over: the exact law of more costs much and tells no more.
const mostTrendBins = 16

// biasTrend is how the bias moves, in per cent of the unit interval an hour: P. K. Sen's slope (1968) over stretches of time, its
// interval, and the exact two-sided p of H. B. Mann (1945) and M. G. Kendall for what it moves beyond soundShift. Vectors:
// mann_kendall_*, a trend of known size.
func (f *Fold) biasTrend(side capture.Side, j *jitter) Fact {
	x := newFact("time.bias-trend", side, "%/h")
	at, mean := j.stretches()
	if x.N = int64(len(at)); len(at) < fewestBlocks {
		x.Unmeasured = "this sender's bias was seen over too short a time"
		return x
	}
	t := statistic.MannKendallAt(at, mean, 0.95)
	scale := 100 / trendScale * 3600 * f.clock.PerSecond()
	x.Value, x.Low, x.High, x.P = scale*t.Slope, scale*t.Within.Lower, scale*t.Within.Upper, beyondTrend(at, mean, &t)
	return x
}

// beyondTrend is the p of a trend that moves bias by no more than soundShift in all: that of what is left when so much is taken off.
func beyondTrend(at, mean []float64, t *statistic.Trend) float64 {
	most := math.Copysign(soundShift*trendScale/(at[len(at)-1]-at[0]), t.Slope)
	if math.Abs(t.Slope) <= math.Abs(most) {
		return 1
	}
	rest := make([]float64, len(at))
	for i := range at {
		rest[i] = mean[i] - most*at[i]
	}
	return statistic.MannKendallAt(at, rest, 0.95).P
}

// stretches are means of the bias over at most 16 stretches of time that follow each other.
func (j *jitter) stretches() (at, mean []float64) {
	t, v, n := j.trend.Means()
	each := (len(t) + mostTrendBins - 1) / mostTrendBins
	for i := 0; i < len(t); i += each {
		var w, wt, wv float64
		for k := i; k < min(i+each, len(t)); k++ {
			w, wt, wv = w+float64(n[k]), wt+float64(n[k])*t[k], wv+float64(n[k])*v[k]
		}
		at, mean = append(at, wt/w), append(mean, wv/w)
	}
	return at, mean
}

// randomFact is the standard deviation of an edge's place in per cent of the unit interval, without clock, bias and what depends on
// the run before: the median over frames, so that single frames do not spoil it; interval as of medianOf. Vector: normal jitter of
// known size.
func (j *jitter) randomFact(side capture.Side) Fact {
	x := newFact("time.random", side, "%")
	medianOf(&x, &j.random, 100, "no whole frame of this sender has enough edges")
	return x
}

// patternFact is by how much an edge that ends a run of one bit stands later than one that ends a longer run of the same state, in
// per cent of the unit interval (characteristic distortion): least squares within characters beside clock and bias, frame by frame,
// then Student's test over at most 64 stretches of frames, P beyond soundShift. Vector: displacements of known size.
func (j *jitter) patternFact(id string, side capture.Side, g int, floor float64) Fact {
	x := newFact(id, side, "%")
	j.after[g].tell(&x, 100, floor, soundShift, "too few whole frames of this sender have runs of one bit and of more")
	return x
}
