package validate

import (
	"math"

	"linewitness/capture"
)

// Levels gathers, for each level, mean, noise and slow movement from settled samples, in bounded memory.
//
// Noise is the standard deviation about a straight line through bins of 0.5 ms or 8 samples, whichever is longer, so
// that mains frequency and what is slower hardly count. One bin counts for at most 16 times the running variance: a
// spike in it does not, noise that has grown does after some ten bins.
type Levels struct {
	clock         capture.Clock
	pace          pace
	width         capture.Tick // of 0.5 ms
	origin        capture.Tick // where the time bins begin
	unit          capture.Tick // width of a time bin
	index         int          // of the time bin at hand, and
	binFrom, till capture.Tick // what it covers
	begun         bool
	of            [4]levelSum
}

// levelSum is what is kept of one level.
type levelSum struct {
	n   int64
	sum float64
	open
	noise noiseSum
	time  [timeBins]timeBin
}

// open is the bin for noise that is being filled. Sums are of volts less the first.
type open struct {
	at, until capture.Tick
	v0        float64
	k         float64 // samples
	s, q, x   float64 // sums of v, v^2 and number*v
}

type timeBin struct {
	n   int64
	sum float64
}

// noiseSum sums the squares about the lines of many bins.
type noiseSum struct {
	dof, ss       float64 // degrees of freedom, sum of squares
	dd, ds, s2    float64 // sums of dof^2, dof*ss and ss^2: their scatter gives the standard error
	running       float64 // variance
	bins          int64
	k, left, each float64 // samples of the last bin, as most are alike, and of those 1/(k(k^2-1)) and 1/(k-2)
}

const (
	timeBins      = 64   // of 1 s at first; twice as wide each time the recording outgrows them
	timeLeast     = 16   // samples that a time bin needs to count
	noiseSeconds  = 5e-4 // a bin for noise, and
	noiseSamples  = 8    // the least of samples it is long
	noiseCap      = 16   // times the running variance
	noiseRunning  = 64   // bins of which the running variance is made
	noiseTeaching = 8    // bins without a cap
)

// NewLevels begins a recording.
func NewLevels(c capture.Clock) *Levels {
	return &Levels{clock: c, width: max(c.Ticks(noiseSeconds), 1), unit: max(c.Ticks(1), 1)}
}

// Add takes the next piece.
func (l *Levels) Add(p Piece) {
	if len(p.At) == 0 || p.Level > capture.High {
		return
	}
	if !l.begun {
		l.begun, l.origin = true, p.At[0]
		l.binFrom, l.till = l.origin, l.origin+l.unit
	}
	at, volts := p.At, p.Volts
	for len(at) > 0 && l.pace.n <= len(l.pace.dist) { // one by one, so that it does not matter where a piece ends
		l.pace.add(at[:1])
		l.add(p.Level, at[:1], volts[:1])
		at, volts = at[1:], volts[1:]
	}
	l.add(p.Level, at, volts)
}

func (l *Levels) add(level capture.Level, at []capture.Tick, volts []float64) {
	o := &l.of[level].open
	volts = volts[:len(at)]
	for i := 0; i < len(at); {
		if o.k == 0 || at[i] >= o.until {
			l.close(level)
			*o = open{at: at[i], until: at[i] + max(l.width, noiseSamples*l.pace.smallest), v0: volts[i]}
		}
		end := i + int(l.of[level].noise.k-o.k) // most bins are alike
		if end <= i || end >= len(at) || at[end] < o.until || at[end-1] >= o.until {
			end = i + ahead(at[i:], o.until)
		}
		k, s, q, x, v0 := o.k, o.s, o.q, o.x, o.v0
		for _, v := range volts[i:end] {
			d := v - v0
			s += d
			q += d * d
			x += k * d
			k++
		}
		i = end
		o.k, o.s, o.q, o.x = k, s, q, x
	}
}

// close counts the bin for noise that is open.
func (l *Levels) close(level capture.Level) {
	s := &l.of[level]
	o := &s.open
	if o.k == 0 || math.IsNaN(o.q-o.q) || math.IsNaN(o.v0-o.v0) {
		return // empty, or not a number in it
	}
	n, sum := int64(o.k), o.k*o.v0+o.s
	s.n += n
	s.sum += sum
	t := &s.time[l.bin(o.at)]
	t.n += n
	t.sum += sum
	s.noise.add(o)
}

// bin is the number of the time bin at an instant. Those of all levels are merged in twos when there are too many.
func (l *Levels) bin(at capture.Tick) int {
	if at >= l.binFrom && at < l.till {
		return l.index
	}
	for at-l.origin >= timeBins*l.unit {
		for i := range l.of {
			l.of[i].merge()
		}
		l.unit *= 2
	}
	l.index = int(max(at-l.origin, 0) / l.unit)
	l.binFrom = l.origin + capture.Tick(l.index)*l.unit
	l.till = l.binFrom + l.unit
	return l.index
}

func (s *levelSum) merge() {
	for i := range timeBins / 2 {
		a, b := s.time[2*i], s.time[2*i+1]
		s.time[i] = timeBin{n: a.n + b.n, sum: a.sum + b.sum}
	}
	clear(s.time[timeBins/2:])
}

// add takes the squares about the least-squares line through a bin of three samples or more.
func (n *noiseSum) add(o *open) {
	if o.k < 3 {
		return
	}
	k, d := o.k, o.k-2
	if k != n.k {
		n.k, n.left, n.each = k, 1/(k*(k*k-1)), 1/d
	}
	slope := o.x - o.s*(k-1)/2                          // sum of (number - its mean)*v
	ss := o.q - (o.s*o.s*(k*k-1)+12*slope*slope)*n.left // what the line leaves
	ss = max(ss, 0)                                     // rounding
	floor := 1e-6 + 1e-4*math.Abs(o.v0)                 // V: so that it can grow from nothing
	if limit := noiseCap * d * (n.running + floor*floor); n.bins >= noiseTeaching && ss > limit {
		ss = limit
	}
	n.bins++
	weight := 1. / noiseRunning
	if n.bins < noiseRunning {
		weight = 1 / float64(n.bins)
	}
	n.running += (ss*n.each - n.running) * weight
	n.dof += d
	n.ss += ss
	n.dd += d * d
	n.ds += d * ss
	n.s2 += ss * ss
}

// deviation is the standard deviation, V, and its standard error by the scatter of the bins.
func (n *noiseSum) deviation() (sd, stderr float64) {
	if n.bins < 2 {
		return math.NaN(), math.NaN()
	}
	v := n.ss / n.dof
	sd = math.Sqrt(v)
	scatter := max(n.s2-2*v*n.ds+v*v*n.dd, 0)
	if sd == 0 {
		return 0, 0
	}
	return sd, math.Sqrt(scatter) / n.dof / (2 * sd)
}
