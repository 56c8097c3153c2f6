package validate

import (
	"math"
	"slices"

	"linewitness/capture"
)

// LevelFacts are the levels of a recording so far, in volts (amperes at a loop-current tap). NaN: not measured.
type LevelFacts struct {
	Low, Mid, High LevelFact

	BinSeconds float64 // width of the time bins
	// Ratio is Mid/High over the time bins in which both were seen. A sag or the supply moves both and leaves it; a
	// leak lowers both and raises it; a joint moves Mid alone: down at the end that does not feed, up at the one that does.
	Ratio Drift
	// Correlation of Mid with High over the same bins, and what a relative change of High makes of Mid (1: the
	// supply); both NaN under three bins. Dips shorter than a bin lower both: the two levels stand at different moments.
	Correlation, Follows float64
	Shift                Shift // the levels at two kinds of times, where mark keeps to one of two heights

	// Growth is the noise of Mid over that of the noisier of the other two, with its standard error: over 1, there is
	// noise that only current makes, the mark of a poor joint.
	Growth, GrowthErr float64
}

// LevelFact is one level.
type LevelFact struct {
	Samples         int64   // settled
	Seconds         float64 // samples times their usual distance
	Mean            float64
	Noise, NoiseErr float64 // standard deviation without mains and what is slower; its standard error
	NoiseBins       int64   // bins that it comes from
	Drift           Drift   // of its means over the time bins of at least 16 samples
}

// Drift is how a figure moves from time bin to time bin.
type Drift struct {
	Bins                         int
	Median, StdErr               float64 // standard error of the median, by the spread
	Spread                       float64 // standard deviation of the bins
	First, Last, Lowest, Highest float64
	Change, ChangeErr            float64 // from first bin to last along the least-squares line; its standard error
}

// Facts are those so far.
func (l *Levels) Facts() LevelFacts {
	c := *l // the open bins are counted in a copy
	for i := range c.of {
		c.close(capture.Level(i))
	}
	f := LevelFacts{BinSeconds: c.clock.Seconds(c.unit)}
	for _, x := range []struct {
		level capture.Level
		fact  *LevelFact
	}{{capture.Low, &f.Low}, {capture.Mid, &f.Mid}, {capture.High, &f.High}} {
		*x.fact = c.of[x.level].fact(c.clock.Seconds(c.pace.smallest))
	}
	c.joint(&f)
	c.growth(&f)
	f.Shift = c.shift()
	return f
}

func (s *levelSum) fact(distance float64) LevelFact {
	f := LevelFact{Samples: s.n, Seconds: float64(s.n) * distance, Mean: s.sum / float64(s.n), NoiseBins: s.noise.bins}
	f.Noise, f.NoiseErr = s.noise.deviation()
	var m series
	for i, b := range s.time {
		if b.n >= timeLeast {
			m.add(float64(i), b.sum/float64(b.n))
		}
	}
	f.Drift = m.drift()
	return f
}

// joint tells how Mid and High move together.
func (l *Levels) joint(f *LevelFacts) {
	var mid, high, ratio series
	for i := range timeBins {
		m, h := l.of[capture.Mid].time[i], l.of[capture.High].time[i]
		if m.n < timeLeast || h.n < timeLeast || h.sum == 0 {
			continue
		}
		mid.add(float64(i), m.sum/float64(m.n))
		high.add(float64(i), h.sum/float64(h.n))
		ratio.add(float64(i), mid.y[mid.n-1]/high.y[high.n-1])
	}
	f.Ratio = ratio.drift()
	f.Correlation, f.Follows = math.NaN(), math.NaN()
	if mid.n < 3 {
		return
	}
	mm, mh := mid.mean(), high.mean()
	var cov, vm, vh float64
	for i := range mid.n {
		dm, dh := mid.y[i]-mm, high.y[i]-mh
		cov += dm * dh
		vm += dm * dm
		vh += dh * dh
	}
	if vm > 0 && vh > 0 {
		f.Correlation, f.Follows = cov/math.Sqrt(vm*vh), cov/vh*mh/mm
	}
}

// growth compares the noise of Mid with the noisier of the others.
func (l *Levels) growth(f *LevelFacts) {
	f.Growth, f.GrowthErr = math.NaN(), math.NaN()
	other, otherErr := f.High.Noise, f.High.NoiseErr
	if !(other >= f.Low.Noise) && f.Low.Noise == f.Low.Noise {
		other, otherErr = f.Low.Noise, f.Low.NoiseErr
	}
	if !(other > 0) || !(f.Mid.Noise > 0) {
		return
	}
	f.Growth = f.Mid.Noise / other
	f.GrowthErr = f.Growth * math.Hypot(f.Mid.NoiseErr/f.Mid.Noise, otherErr/other)
}

// series is a figure over time bins.
type series struct {
	n    int
	x, y [timeBins]float64
}

func (s *series) add(x, y float64) {
	s.x[s.n], s.y[s.n] = x, y
	s.n++
}

func (s *series) mean() float64 { return meanVolts(s.y[:s.n]) }

func (s *series) drift() Drift {
	nan := math.NaN()
	d := Drift{s.n, nan, nan, nan, nan, nan, nan, nan, nan, nan}
	if s.n == 0 {
		return d
	}
	y := s.y[:s.n]
	d.First, d.Last, d.Lowest, d.Highest = y[0], y[s.n-1], slices.Min(y), slices.Max(y)
	sorted := slices.Clone(y)
	slices.Sort(sorted)
	d.Median = (sorted[(s.n-1)/2] + sorted[s.n/2]) / 2
	if s.n < 3 {
		return d
	}
	n, mx, my := float64(s.n), meanVolts(s.x[:s.n]), s.mean()
	var sxx, sxy, syy float64
	for i, v := range y {
		dx, dy := s.x[i]-mx, v-my
		sxx += dx * dx
		sxy += dx * dy
		syy += dy * dy
	}
	d.Spread = math.Sqrt(syy / (n - 1))
	d.StdErr = math.Sqrt(math.Pi/2/n) * d.Spread
	span := s.x[s.n-1] - s.x[0]
	d.Change = sxy / sxx * span
	d.ChangeErr = math.Sqrt(max(syy-sxy*sxy/sxx, 0)/(n-2)/sxx) * span
	return d
}
