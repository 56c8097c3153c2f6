package compare

import (
	"math"

	"linewitness/decode/statistic"
)

// Line is the straight line through the instants of frames that two recordings share: second = first + Offset + Drift *
// (first - At). NaN: fewer than two frames.
type Line struct {
	At        float64 // s, on the first's axis: the middle of what they share, where the offset is known best
	Offset    float64 // s
	OffsetErr float64 // standard error
	Drift     float64 // the second's clock against the first's, less 1; positive: the second counts more seconds
	DriftErr  float64
	Scatter   float64 // s, robust standard deviation of single frames about the line
	N         int     // frames it rests on, without those far off
}

// fitLine is a line by least squares, without what lies more than six robust standard deviations off. Errors are those of
// a jackknife that leaves out a twentieth of the time at once (M. H. Quenouille, 1956; J. W. Tukey, 1958), since clocks
// wander and neighbours err alike.
func fitLine(a, b []float64) Line {
	nan := math.NaN()
	l := Line{nan, nan, nan, nan, nan, nan, len(a)}
	if len(a) < 2 {
		return l
	}
	l.At = (a[0] + a[len(a)-1]) / 2
	keep := make([]bool, len(a))
	for i := range keep {
		keep[i] = true
	}
	res := make([]float64, len(a))
	var sums [blocks]moments
	for range 3 {
		sums = momentsOf(a, b, keep, l.At)
		var all moments
		for _, s := range sums {
			all.plus(s)
		}
		l.Offset, l.Drift = all.line()
		l.N = int(all.n)
		for i := range a {
			res[i] = math.Abs(b[i] - a[i] - l.Offset - l.Drift*(a[i]-l.At))
		}
		l.Scatter = statistic.NormalMAD * statistic.Median(res)
		for i := range keep {
			keep[i] = res[i] <= 6*l.Scatter+1e-12
		}
	}
	l.OffsetErr, l.DriftErr = jackknife(sums)
	return l
}

// drift is that of the plain least-squares line; 0 of fewer than two frames.
func drift(a, b []float64) float64 {
	if len(a) < 2 {
		return 0
	}
	var m moments
	for i := range a {
		x := a[i] - a[0]
		m.plus(moments{1, x, x * x, b[i] - a[i], (b[i] - a[i]) * x})
	}
	_, d := m.line()
	return d
}

const blocks = 20

// moments are sums of instants about a middle, and of the differences of both axes.
type moments struct{ n, x, xx, y, xy float64 }

func (m *moments) plus(o moments) {
	m.n, m.x, m.xx, m.y, m.xy = m.n+o.n, m.x+o.x, m.xx+o.xx, m.y+o.y, m.xy+o.xy
}

func (m *moments) minus(o moments) moments {
	return moments{m.n - o.n, m.x - o.x, m.xx - o.xx, m.y - o.y, m.xy - o.xy}
}

// line is the value at the middle, and the slope.
func (m *moments) line() (offset, drift float64) {
	det := m.n*m.xx - m.x*m.x
	drift = (m.n*m.xy - m.x*m.y) / det
	return (m.y - drift*m.x) / m.n, drift
}

func momentsOf(a, b []float64, keep []bool, at float64) (sums [blocks]moments) {
	for i := range a {
		if keep[i] {
			x, y := a[i]-at, b[i]-a[i]
			sums[i*blocks/len(a)].plus(moments{1, x, x * x, y, x * y})
		}
	}
	return sums
}

func jackknife(sums [blocks]moments) (offsetErr, driftErr float64) {
	var all moments
	for _, s := range sums {
		all.plus(s)
	}
	var o, d []float64
	for _, s := range sums {
		if s.n == 0 {
			continue
		}
		rest := all.minus(s)
		offset, drift := rest.line()
		o, d = append(o, offset), append(d, drift)
	}
	return spread(o), spread(d)
}

// spread is the jackknife's standard error.
func spread(v []float64) float64 {
	if len(v) < 2 {
		return math.NaN()
	}
	mean, sum := 0.0, 0.0
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for _, x := range v {
		sum += (x - mean) * (x - mean)
	}
	return math.Sqrt(float64(len(v)-1) / float64(len(v)) * sum)
}
