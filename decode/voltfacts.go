package decode

import (
	"fmt"
	"math"
	"slices"

	"linewitness/capture"
	"linewitness/capture/slicer"
	"linewitness/decode/link"
	"linewitness/decode/validate"
	"linewitness/decode/verdict"
)

// fewestSamples is the least number of samples a bit at which distortion is claimed.
const fewestSamples = 8

// zeroDrift is the part of the levels' distance by which low must move for the recorder's zero to be in question.
const zeroDrift = 0.03

// facts is what the levels say so far. The link may be nil.
func (v *volts) facts(p *link.Profile, seconds float64) *verdict.Volts {
	f := v.slicer.Found()
	o := &verdict.Volts{Loop: f.Kind == slicer.Loop, Amperes: f.Kind == slicer.Current, Levels: f.Levels, Low: f.Low, Mid: f.Mid, High: f.High, Noise: f.Noise,
		Relative: v.info.Relative, Coupled: f.Coupled, OnlyMains: f.Mains, HalfWave: f.HalfWave, Clipped: f.Clipped, Seconds: seconds,
		SamplesABit: math.NaN(), Peak: v.peak, Constant: v.constant()}
	if p != nil {
		o.FeedAssumed, o.Feed = p.FeedAssumed, p.Feed
		if f.Uniform && f.Spacing > 0 && p.Speed() > 0 {
			o.SamplesABit = v.clock.PerSecond() / p.Speed() / float64(f.Spacing)
			o.DistortionHidden = o.SamplesABit < fewestSamples
		}
	}
	if o.Loop {
		o.HeldLow, o.HeldHigh, o.Held, o.HeldEnds = v.held.facts(v.clock)
	}
	v.ripple(o)
	v.heights(o)
	v.shapes(o, p)
	if o.HalfWave {
		litOnly(o)
	} else {
		v.events(o)
	}
	if f.Afloat {
		o.Dropped = "the levels stand on either side of zero, so that is not where N stands: the input is AC-coupled or its zero is off, and what levels say is left out"
	}
	if f.Coupled {
		o.Dropped = "the input is AC-coupled: what levels say is left out"
	}
	return o
}

// litOnly leaves out what cannot be measured where the supply is dark for half of the time.
func litOnly(o *verdict.Volts) {
	no := math.NaN()
	o.Hum, o.Ripple, o.NoiseOf = [4]float64{no, no, no, no}, [4]float64{no, no, no, no}, [4]float64{no, no, no, no}
	o.DipTo, o.MarkNoise, o.MarkErr, o.BeyondMost, o.Effective = no, no, no, no, no
}

// heights takes the mean levels and how they move.
func (v *volts) heights(o *verdict.Volts) {
	l := v.levels.Facts()
	inner := [4]float64{capture.Low: o.Low, capture.Mid: o.Mid, capture.High: o.High}
	for _, x := range []struct {
		level capture.Level
		to    *float64
		fact  *validate.LevelFact
	}{{capture.Low, &o.Low, &l.Low}, {capture.Mid, &o.Mid, &l.Mid}, {capture.High, &o.High, &l.High}} {
		if o.Coupled || x.fact.Samples == 0 {
			continue
		}
		seen := x.fact.Drift.Median
		if math.IsNaN(seen) {
			seen = x.fact.Mean
		}
		if o.Loose[x.level] = o.Loop && x.level != capture.Mid && runsOff(x.fact.Drift.Last, &o.Hum, &inner, x.level); !o.Loose[x.level] && !o.HalfWave {
			*x.to = seen
		}
	}
	o.NoiseOf = [4]float64{math.NaN(), l.Low.Noise, l.Mid.Noise, l.High.Noise}
	o.NoiseErr = [4]float64{math.NaN(), l.Low.NoiseErr, l.Mid.NoiseErr, l.High.NoiseErr}
	o.Moves = [4]float64{math.NaN(), l.Low.Drift.Spread, l.Mid.Drift.Spread, l.High.Drift.Spread}
	o.Ratio, o.RatioMoves = l.Ratio.Median, l.Ratio.Spread
	o.PlaceMove, o.PlaceErr, o.HighMove = math.NaN(), math.NaN(), math.NaN()
	if h := l.High.Drift; h.Bins >= 3 && h.Median != 0 {
		o.HighMove = h.Change / math.Abs(h.Median)
	}
	if r := l.Ratio; r.Bins >= 3 && r.Median != 0 {
		o.PlaceMove, o.PlaceErr = r.Change/r.Median, math.Abs(r.ChangeErr/r.Median)
	}
	if o.Loose[capture.High] || o.HalfWave {
		o.PlaceMove, o.HighMove = math.NaN(), math.NaN()
	}
	if d := l.Low.Drift; d.Bins >= 3 && !o.Loose[capture.Low] && !o.HalfWave && math.Abs(d.Change) > zeroDrift*math.Abs(l.High.Mean-l.Low.Mean) {
		o.PlaceMove, o.HighMove, o.ZeroMove = math.NaN(), math.NaN(), d.Change // all levels move alike: the recorder's zero does
	}
	o.MarkNoise, o.MarkErr = l.Growth, l.GrowthErr
	if !o.HalfWave && !o.Coupled {
		o.Shift = l.Shift
	}
}

// runsOff tells whether an open state's volts stand clearly further from mark than where the line comes to, or swing with the mains
// by far more than mark does.
func runsOff(seen float64, hum, inner *[4]float64, level capture.Level) bool {
	const far, more = 0.1, 8
	step := inner[level] - inner[capture.Mid]
	return (seen-inner[level])/step > far || hum[level] > far*math.Abs(step) && hum[level] > more*hum[capture.Mid]
}

// ripple takes what follows the mains.
func (v *volts) ripple(o *verdict.Volts) {
	m := v.mains.Facts()
	o.Hz, o.HzErr = math.NaN(), math.NaN()
	for l := range o.Hum {
		o.Hum[l], o.Ripple[l] = math.NaN(), math.NaN()
	}
	if !m.Found {
		return
	}
	o.Hz, o.HzErr, o.Rectifier = m.Hz, m.HzErr, m.Crest.Kind
	for l := capture.Low; l <= capture.High; l++ {
		t := &m.States[l].Tones
		o.Hum[l] = clear(t[0])
		sum := 0.0
		for _, h := range t[1:] {
			if p := clear(h); p == p {
				sum += p * p
			}
		}
		if o.Hum[l] == o.Hum[l] {
			o.Ripple[l] = math.Sqrt(sum)
		}
	}
}

// clear is a tone's size, 0 where it does not stand out of its error.
func clear(t validate.MainsTone) float64 {
	if t.Peak < 3*t.PeakErr {
		return 0
	}
	return t.Peak
}

// shapes takes the slowest kind of edge.
func (v *volts) shapes(o *verdict.Volts, p *link.Profile) {
	e := v.edges.Facts()
	o.Edges, o.TauBits = e.Kinds, math.NaN()
	if p == nil {
		return
	}
	for _, k := range e.Kinds {
		if k.N < 8 {
			continue
		}
		if t := k.Tau50 * p.Speed(); !(t <= o.TauBits) {
			o.TauBits, o.Curved = t, k.Curved && !(k.Shape >= 0.7) // a straight slope has 1, NaN is not told
		}
	}
}

// events takes what happened to the levels.
func (v *volts) events(o *verdict.Volts) {
	o.Swing = v.swing.Facts()
	s := v.spikes.Facts()
	o.Spikes, o.Beyond, o.BeyondMost = s.Episodes, s.Beyond, s.Largest
	for _, c := range [...]validate.SpikeCount{s.Low, s.Mid, s.High} {
		o.Plus, o.Minus = o.Plus+c.Up, o.Minus+c.Down
	}
	level := [4]float64{math.NaN(), o.Low, o.Mid, o.High}
	for _, k := range s.First {
		switch peak := level[k.Level] + k.Volts; {
		case o.Levels < 3 || math.IsNaN(peak):
		case atOpen(o, peak):
			o.AtOpen++
		default:
			o.OffOpen++
		}
	}
	v.dips(o)
	o.Effective = v.ac.effective()
	if d := v.ac.dips.Facts().Dips; o.OnlyMains && d.N > 0 {
		o.Dips.N, o.DipTo = d.N, d.Deepest.Residual
		for _, e := range d.First {
			o.Dips.At = append(o.Dips.At, e.Start)
		}
	}
}

// atOpen tells whether a spike's peak stands where the line comes to when a conductor opens: near low or between that and 0 V, or
// near high.
func atOpen(o *verdict.Volts, peak float64) bool {
	const near = 0.1
	within := func(from, to, reach float64) bool {
		return peak >= min(from, to)-math.Abs(reach) && peak <= max(from, to)+math.Abs(reach)
	}
	return within(o.Low, 0, near*(o.Mid-o.Low)) || within(o.High, o.High, near*(o.High-o.Mid))
}

// dips takes those of the loop's supply: what only mark shows is the loop's resistance.
func (v *volts) dips(o *verdict.Volts) {
	f := v.supply.Facts()
	o.Judged, o.DipTo, o.MarkFell = f.Covered, math.NaN(), f.MidOnly
	if o.Dips.N = f.Both + f.Alone; o.Dips.N == 0 {
		return
	}
	o.DipTo = f.Dips.Deepest.Residual
	if !math.IsNaN(f.Mid) && !math.IsNaN(f.High) {
		o.Mid, o.High = f.Mid, f.High // as they stand apart from the dips
	}
	for _, e := range f.Dips.First {
		o.Dips.At = append(o.Dips.At, e.Start)
		o.DipSpans = append(o.DipSpans, verdict.Span{From: e.Start, To: e.End, Residual: e.Residual})
	}
	slices.Sort(o.Dips.At)
}

// show keeps the volts of the dips that are over by now.
func (v *volts) show(l *line, now capture.Tick) {
	supply := v.supply.Facts()
	f := supply.Dips.First
	if v.shown == len(f) {
		return
	}
	usual := [4]float64{math.NaN(), v.slicer.Found().Low, supply.Mid, supply.High}
	l.mu.Lock()
	defer l.mu.Unlock()
	for ; v.shown < len(f); v.shown++ {
		e := &f[v.shown]
		if e.Open || l.excerpts.EventEnds(e.Start, e.End) > now {
			return
		}
		l.excerpts.Event("dip", fmt.Sprintf("the levels fall to %.0f %% of their usual height", 100*e.Residual), e.Start, e.End, usual)
	}
}
