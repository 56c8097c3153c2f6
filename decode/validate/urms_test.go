package validate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/decode/validate"
)

// urmsExample is the sine of check-values.md 4.4: 230 V, 50 Hz, 10 kHz, a factor between two instants in ms.
func urmsExample(factor float64, from, to int) (at []capture.Tick, volts []float64) {
	for i := range 2000 {
		v := 230 * math.Sqrt2 * math.Sin(2*math.Pi*float64(i)/200)
		if i >= 10*from && i < 10*to {
			v *= factor
		}
		at, volts = append(at, capture.Tick(i)), append(volts, v)
	}
	return at, volts
}

// urmsRows are the values of check-values.md 4.4 (computed there), by the window's start in ms.
var urmsRows = []struct {
	name     string
	factor   float64
	from, to int
	want     map[int]float64
}{
	{"dip to 40 % from 40 to 100 ms", 0.4, 40, 100, map[int]float64{0: 230, 10: 230, 20: 230, 30: 175.1628, 40: 92, 50: 92, 60: 92,
		70: 92, 80: 92, 90: 175.1628, 100: 230, 110: 230, 170: 230}},
	{"dip to 40 % from 45 to 105 ms", 0.4, 45, 105, map[int]float64{20: 230, 30: 203.8843, 40: 139.1072, 50: 92, 60: 92, 70: 92, 80: 92,
		90: 140.6953, 100: 204.9712, 110: 230, 120: 230}},
	{"swell 120 % from 40 to 80 ms", 1.2, 40, 80, map[int]float64{20: 230, 30: 254.0433, 40: 276, 50: 276, 60: 276, 70: 254.0433, 80: 230}},
	{"interruption from 40 to 140 ms", 0, 40, 140, map[int]float64{20: 230, 30: 162.6346, 40: 0, 50: 0, 80: 0, 120: 0, 130: 162.6346,
		140: 230}},
}

// Windows of a fixed number of samples, and windows from given crossings, give the worked example to 1e-4 V.
func TestUrmsExample(t *testing.T) {
	t.Parallel()
	for _, row := range urmsRows {
		at, volts := urmsExample(row.factor, row.from, row.to)
		fixed := validate.UrmsFixed(volts, 200)
		given := map[int]float64{}
		u := validate.NewUrmsAt(capture.Clock{Num: 10000, Den: 1}, 50, 0, func(start, end capture.Tick, rms float64) {
			if start%100 != 0 || end != start+200 {
				t.Errorf("%s: window from %d to %d", row.name, start, end)
			}
			given[int(start)/10] = rms
		})
		u.Add(at, volts)
		if len(fixed) != 19 || len(given) < 18 {
			t.Fatalf("%s: %d and %d windows", row.name, len(fixed), len(given))
		}
		for ms, want := range row.want {
			if got := fixed[ms/10]; math.Abs(got-want) > 1e-4 {
				t.Errorf("%s: window at %d ms of fixed length: %.4f, want %.4f", row.name, ms, got, want)
			}
			if got := given[ms]; math.Abs(got-want) > 1e-4 {
				t.Errorf("%s: window at %d ms: %.4f, want %.4f", row.name, ms, got, want)
			}
		}
	}
	if got := validate.UrmsFixed([]float64{1, 2, 3}, 1); got != nil {
		t.Errorf("windows of one sample: %v", got)
	}
}

// Where nobody says frequency or phase they are found and followed: windows start at crossings of either sign within 3
// degrees, through noise, a fifth harmonic, dips and a frequency that is not the nominal one.
func TestUrmsFollows(t *testing.T) {
	t.Parallel()
	for _, hz := range []float64{49.6, 50.04, 60.1} {
		const rate, seconds = 5000, 20
		r := rand.New(rand.NewPCG(1, uint64(hz*100)))
		var starts []capture.Tick
		var values []float64
		u := validate.NewUrms(capture.Clock{Num: rate * 16, Den: 1}, 0, func(start, end capture.Tick, rms float64) {
			if length := float64(end-start) / (16 * rate) * hz; math.Abs(length-1) > 0.02 {
				t.Errorf("%g Hz: a window of %.4f cycles", hz, length)
			}
			starts, values = append(starts, start), append(values, rms)
		})
		for i := range rate * seconds {
			s := float64(i) / rate
			v := 325.27 * (math.Sin(2*math.Pi*(hz*s+0.2)) + 0.05*math.Sin(2*math.Pi*5*hz*s))
			if s > 10 && s < 11 {
				v *= 0.5
			}
			if s > 14 && s < 16 {
				v = 0 // the phase has to be held
			}
			u.Add([]capture.Tick{capture.Tick(i) * 16}, []float64{v + 5*r.NormFloat64()})
		}
		if n := float64(len(starts)); n < 2*hz*(seconds-3) {
			t.Fatalf("%g Hz: %g windows", hz, n)
		}
		for i, at := range starts {
			s := float64(at) / (16 * rate)
			most := 3.
			if s > 14 && s < 16.2 {
				most = 6 // held, not followed
			}
			if off := math.Abs(math.Remainder(2*(hz*s+0.2), 1)) * 180; s > 2.5 && off > most {
				t.Errorf("%g Hz: window at %.3f s starts %.1f degrees off a crossing", hz, s, off)
			}
			// A sample more or less at the crossing is 1.4 V, the noise 0.55 V.
			want := 230 * math.Sqrt(1+0.05*0.05)
			if s > 10 && s < 10.97 {
				want /= 2
			}
			if s > 2.5 && (s < 9.97 || s > 10 && s < 10.97 || s > 11 && s < 13.97 || s > 16) && math.Abs(values[i]-want) > 4 {
				t.Errorf("%g Hz: window at %.3f s: %.2f V, want %.2f", hz, s, values[i], want)
			}
		}
	}
}

// Missing samples make no windows; the windows before and after stand. Cuts do not matter.
func TestUrmsGaps(t *testing.T) {
	t.Parallel()
	at, volts := urmsExample(0.4, 40, 100)
	measure := func(cut func(add func([]capture.Tick, []float64))) (out [][3]float64) {
		u := validate.NewUrmsAt(capture.Clock{Num: 10000, Den: 1}, 50, 0, func(start, end capture.Tick, rms float64) {
			out = append(out, [3]float64{float64(start), float64(end), rms})
		})
		cut(u.Add)
		return out
	}
	whole := measure(func(add func([]capture.Tick, []float64)) { add(at, volts) })
	holed := measure(func(add func([]capture.Tick, []float64)) { add(at[:650], volts[:650]); add(at[1020:], volts[1020:]) })
	for _, w := range holed {
		if w[1] > 650 && w[0] < 1020 {
			t.Errorf("window %v over missing samples", w)
		}
	}
	if len(holed) < 11 {
		t.Errorf("%d windows of %d", len(holed), len(whole))
	}
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.IntRange(1, 500).Draw(t, "size")
		got := measure(func(add func([]capture.Tick, []float64)) {
			for i := 0; i < len(at); i += size {
				j := min(i+size, len(at))
				add(at[i:j], volts[i:j])
			}
		})
		if d := cmp.Diff(whole, got); d != "" {
			t.Fatal(d)
		}
	})
}
