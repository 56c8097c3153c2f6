package decode_test

import (
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"linewitness/capture"
)

// waveform is what ngspice says stood at the terminal, at its own steps.
type waveform struct {
	loopCircuit
	at, volts []float64 // s, V
	states    []state
}

// value is the volts at an instant, on the straight line between two steps.
func (w *waveform) value(s float64) float64 {
	i := sort.SearchFloat64s(w.at, s)
	if i == 0 || i == len(w.at) {
		return w.volts[min(i, len(w.at)-1)]
	}
	f := (s - w.at[i-1]) / (w.at[i] - w.at[i-1])
	return w.volts[i-1] + f*(w.volts[i]-w.volts[i-1])
}

// sample is a recording of the waveform at so many samples a second, with noise of a standard deviation in volts. The
// grid stands a fraction of a sample off the circuit's time, so that no edge falls on a sample by design.
func (w *waveform) sample(rate int, noise float64) *capture.Block {
	r := rand.New(rand.NewPCG(uint64(rate), 20))
	period, offset := 1/float64(rate), w.offset(rate)
	n := int((w.at[len(w.at)-1] - offset) / period)
	b := &capture.Block{End: capture.Tick(n) * 1024}
	for i := range n {
		b.SampleAt = append(b.SampleAt, capture.Tick(i)*1024)
		b.Volts = append(b.Volts, w.value(offset+float64(i)*period)+noise*r.NormFloat64())
	}
	return b
}

// offset is the circuit's time at the first sample, s.
func (w *waveform) offset(rate int) float64 { return 0.382 / float64(rate) }

// info describes a recording of the waveform: 1,024 ticks a sample.
func (w *waveform) info(rate int) capture.Info {
	return capture.Info{Name: "loop", Format: "test", Clock: capture.Clock{Num: int64(rate) * 1024, Den: 1}, Volts: true}
}

// seconds is the circuit's time of an instant of a recording.
func (w *waveform) seconds(rate int, at capture.Tick) float64 {
	return w.offset(rate) + w.info(rate).Clock.Seconds(at)
}

// settled are instants and volts of a level while it is at rest, every 20 us; after the last dip only.
func (w *waveform) settled(level capture.Level) (at, volts []float64) {
	after := 0.0
	for _, d := range w.dips {
		after = max(after, d.at+d.lasts+0.110)
	}
	for _, s := range w.states {
		if s.level != level {
			continue
		}
		for t := max(s.from+w.settle(), after); t < s.to; t += 20e-6 {
			at, volts = append(at, t), append(volts, w.value(t))
		}
	}
	return at, volts
}

// levels are the settled volts of each level, without the drop of N; NaN where it was not seen.
func (w *waveform) levels() (v byName) {
	for level := range v {
		v[level] = w.fit(capture.Level(level))[0]
	}
	return v
}

// mains are the amplitudes of 50 Hz in each level, V; NaN where it was not seen.
func (w *waveform) mains() (v byName) {
	for level := range v {
		x := w.fit(capture.Level(level))
		v[level] = math.Hypot(x[1], x[2])
	}
	return v
}

// fit is the least-squares fit of a constant, a sine and a cosine of 50 Hz to a level at rest.
func (w *waveform) fit(level capture.Level) [3]float64 {
	at, volts := w.settled(level)
	if len(at) == 0 {
		return [3]float64{math.NaN(), math.NaN(), math.NaN()}
	}
	if w.neutral == 0 {
		sum := 0.0
		for _, v := range volts {
			sum += v
		}
		return [3]float64{sum / float64(len(volts))}
	}
	var m [3][4]float64 // normal equations
	for i, t := range at {
		s, c := math.Sincos(2 * math.Pi * 50 * t)
		row := [4]float64{1, s, c, volts[i]}
		for a := range m {
			for b := range row {
				m[a][b] += row[a] * row[b]
			}
		}
	}
	return solve(m)
}

// solve solves three equations by Gauss and Jordan's elimination; the matrix is positive definite.
func solve(m [3][4]float64) (x [3]float64) {
	for i := range m {
		for j := range m {
			if i == j {
				continue
			}
			f := m[j][i] / m[i][i]
			for k := range m[j] {
				m[j][k] -= f * m[i][k]
			}
		}
	}
	for i := range m {
		x[i] = m[i][3] / m[i][i]
	}
	return x
}

// crossing is the instant at which the volts pass the middle between the levels before and after.
type crossing struct {
	at float64 // s
	to capture.Level
}

// crossings are ngspice's own, one for each change of a sender. Where the levels stand still they are the settled ones;
// where the supply or N moves, those just before the change and once the terminal has come to rest after it.
func (w *waveform) crossings(t *testing.T) (all []crossing) {
	t.Helper()
	levels := w.levels()
	for i, s := range w.states[1:] {
		before, after := levels[w.states[i].level], levels[s.level]
		if w.moving() {
			before, after = w.value(s.from), w.value(min(s.from+w.settle(), s.to))
		}
		at, ok := w.crosses((before+after)/2, s.from, s.to)
		if !ok {
			t.Fatalf("the circuit is too slow: it does not pass %.3f V between %.6f s and %.6f s", (before+after)/2, s.from, s.to)
		}
		if r := w.resolution(at); r > 0.2e-6 {
			t.Fatalf("ngspice's steps leave %.2f us at %.6f s, want 0.2 us at most", r*1e6, at)
		}
		all = append(all, crossing{at, s.level})
	}
	return all
}

// crosses is when the volts first pass a threshold within [from, to), and whether they do.
func (w *waveform) crosses(threshold, from, to float64) (at float64, ok bool) {
	for i := sort.SearchFloat64s(w.at, from); i < len(w.at) && i > 0 && w.at[i-1] < to; i++ {
		a, b := w.volts[i-1]-threshold, w.volts[i]-threshold
		if a == 0 || a*b < 0 {
			return w.at[i-1] + (w.at[i]-w.at[i-1])*a/(a-b), true
		}
	}
	return math.NaN(), false
}

// resolution is how far a straight line between two of ngspice's steps may be off at an instant, s: an eighth of the
// second difference, over the slope, and never more than the step.
func (w *waveform) resolution(s float64) float64 {
	i := sort.SearchFloat64s(w.at, s)
	i = min(max(i, 2), len(w.at)-2)
	slope := func(k int) float64 { return (w.volts[k] - w.volts[k-1]) / (w.at[k] - w.at[k-1]) }
	step, here := w.at[i]-w.at[i-1], math.Abs(slope(i))
	bend := max(math.Abs(slope(i)-slope(i-1)), math.Abs(slope(i+1)-slope(i)))
	return min(step, step*bend/(8*here))
}
