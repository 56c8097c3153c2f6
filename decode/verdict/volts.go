package verdict

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/validate"
)

// Volts is what the levels of a recording in volts (amperes at a loop-current tap) say by themselves. NaN: not measured.
type Volts struct {
	Moves          [4]float64     // V, how far a level moves from one time bin to the next, as a standard deviation; NaN under three bins
	NoiseErr       [4]float64     // V, standard error of NoiseOf
	Ratio          float64        // mark over high, the median of the time bins that show both
	RatioMoves     float64        // how far it moves from one to the next
	Loop, Amperes  bool           // volts from S to N of a current loop; its current
	Levels         int            // seen: 0 none told apart, 1 constant, 2, 3
	Low, Mid, High float64        // V, by distance from 0; Mid is mark on a loop
	Noise          float64        // V, standard deviation about a level
	NoiseOf        [4]float64     // the same by level
	Relative       bool           // nobody said what full scale is: sizes mean nothing, ratios do
	Coupled        bool           // AC-coupled input: the values of levels mean nothing
	OnlyMains      bool           // nothing but mains
	HalfWave       bool           // the supply lives in every other half cycle: only levels and edges are judged
	Loose          [4]bool        // open states whose volts run off away from mark, by level: what moves there says nothing
	HeldLow        float64        // s that the line stood at low without a break, for longer than any character each time
	HeldHigh       float64        // s at high
	Held           validate.Times // how often, and when it began
	HeldEnds       bool           // the recording ended so
	Clipped        int64          // samples at full scale
	Peak           float64        // V, largest magnitude while there was nothing but mains
	Effective      float64        // V, mean effective value (Urms(1/2), IEC 61000-4-30) of mains that stand alone
	Constant       float64        // V, mean while no levels were told apart
	SamplesABit    float64

	Dips      validate.Times // of the loop's supply
	DipTo     float64        // lowest residual supply, relative
	DipSpans  []Span         // the first of them
	Judged    float64        // share of the time in which the supply could be judged
	MarkFell  int64          // times that mark fell like in a dip while the supply held
	PlaceMove float64        // how far mark/high moved, relative
	HighMove  float64        // how far high moved, relative
	ZeroMove  float64        // V by which low moved, where all levels moved with the recorder's zero; else 0
	PlaceErr  float64        // standard error of that
	MarkNoise float64        // noise in mark over that of the quieter outer level
	MarkErr   float64        // standard error of that

	Shift validate.Shift  // the levels at two kinds of times
	Swing validate.Swings // times at which the whole line swings with the mains

	Hz, HzErr        float64            // of the mains, with standard error; NaN: none found
	Rectifier        validate.Rectifier // how the supply recharges, where it shows
	Hum              [4]float64         // V peak at the mains frequency, by level
	Ripple           [4]float64         // V peak at its harmonics together, by level
	TauBits          float64            // slowest edge's time constant over the unit interval
	Curved           bool               // edges are exponential, not sharp
	Spikes           validate.Times
	Plus, Minus      int64 // spikes by sign
	MarkInSpace      int64 // of them, those towards mark inside a space
	AtOpen, OffOpen  int64 // of the first spikes of three levels: those that stop where an open conductor leaves the line, and the others
	Beyond           validate.Times
	BeyondMost       float64              // V beyond the outer level
	Seconds          float64              // covered
	Feed             capture.Side         // the unit that makes the loop supply
	FeedAssumed      bool                 // nothing said which it is
	Edges            []validate.EdgeShape // by kind
	Dropped          string               // why no level is judged; empty: they are
	DistortionHidden bool                 // under 8 samples a bit
}

// Span is a dip's interval, and the lowest supply in it, relative.
type Span struct {
	From, To capture.Tick
	Residual float64
}

// span is the distance between the outer levels seen, or of mark from 0 V where there is no other.
func (v *Volts) span() float64 {
	low, high := v.Low, v.High
	if math.IsNaN(low) {
		low = 0
	}
	if math.IsNaN(high) {
		high = v.Mid
	}
	return math.Abs(high - low)
}

// Place is where mark stands between low (0 V where that was not seen) and high, 0..1; NaN where one is missing.
func (v *Volts) Place() float64 {
	low := v.Low
	if math.IsNaN(low) {
		low = 0
	}
	return (v.Mid - low) / (v.High - low)
}

// nearest is the smaller distance of mark from an outer level that was seen.
func (v *Volts) nearest() float64 {
	d := math.Inf(1)
	for _, x := range [...]float64{v.Low, v.High} {
		if !math.IsNaN(x) {
			d = math.Min(d, math.Abs(x-v.Mid))
		}
	}
	if math.IsInf(d, 1) {
		return v.span()
	}
	return d
}

// shapesKnown tells whether the shape of edges was measured.
func (v *Volts) shapesKnown() bool {
	return v != nil && v.Dropped == "" && !math.IsNaN(v.TauBits)
}

// humShare is the largest amplitude at the mains frequency over the smaller step between levels; 0 where there is none.
func (v *Volts) humShare() float64 { return v.share(&v.Hum, v.Loose) }

// share is the largest of amplitudes by level over the smaller step between levels, some levels left out: those, as a rule, whose volts
// run off in an open state.
func (v *Volts) share(of *[4]float64, without [4]bool) float64 {
	most := 0.0
	for l, a := range of {
		if l > 0 && a > most && !without[l] {
			most = a
		}
	}
	if d := v.nearest(); d > 0 {
		return most / d
	}
	return 0
}

// loose tells whether any open state's volts run off.
func (v *Volts) loose() bool { return v.Loose[capture.Low] || v.Loose[capture.High] }

// inDips is how many of the instants lie in a dip.
func (v *Volts) inDips(at []capture.Tick) (n int) {
	for _, t := range at {
		for _, d := range v.DipSpans {
			if t >= d.From && t <= d.To {
				n++
				break
			}
		}
	}
	return n
}

// halfWaves tells rectified mains from mains: they have a mean, 1/pi of the peak, where mains and pickup have none.
func (v *Volts) halfWaves() bool { return math.Abs(v.Constant) > 0.15*v.Peak }

// mainsOnS is the largest amplitude at the mains frequency or twice that which stands on the line at any time, V; 0 where sizes mean nothing.
func (v *Volts) mainsOnS() float64 {
	if v == nil || v.Relative || v.Amperes {
		return 0
	}
	most := 0.0
	for _, a := range append([]float64{v.Peak, v.Swing.Volts, v.Swing.Twice}, v.Hum[:]...) {
		if a > most { // NaN is not
			most = a
		}
	}
	return most
}

// fullWaves tells that both half waves of the mains stand rectified on the line: twice its frequency and next to nothing of its own.
func (v *Volts) fullWaves() bool {
	own, twice := v.Hum[capture.Mid], v.Ripple[capture.Mid]
	return v.halfWaves() && 5*own < twice && twice > 0.1*v.Peak
}

// coincide counts the episodes of what was lost, at these instants, that fell into dips, and the share of time that the dips took;
// second is in ticks.
func (v *Volts) coincide(lost []capture.Tick, second float64) (share float64, in, of int) {
	if v.Seconds <= 0 || len(v.DipSpans) == 0 || second <= 0 {
		return 0, 0, 0
	}
	tail := capture.Tick(0.3 * second) // recovery, and the frame that was hit
	taken := 0.0
	for _, d := range v.DipSpans {
		taken += float64(d.To-d.From+tail) / second
	}
	last := capture.Tick(math.MinInt64)
	for _, at := range lost {
		if last != math.MinInt64 && float64(at-last) < second {
			continue // one episode
		}
		last = at
		of++
		for _, d := range v.DipSpans {
			if at >= d.From-tail && at <= d.To+tail {
				in++
				break
			}
		}
	}
	return taken / v.Seconds, in, of
}
