package validate_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/decode/validate"
)

// mainsLine makes settled pieces of a line that talks: a random telegraph over the three states.
type mainsLine struct {
	rate    int // samples a second
	seconds float64
	dwell   [4]float64                                      // s, mean, by level; all 0: 20 ms each
	volts   func(l capture.Level, t, noise float64) float64 // noise: a standard normal draw
	idle    func(t float64) bool                            // nothing is recorded there
	seed    uint64
}

// each calls f with one piece after another; the piece is filled anew each time.
func (m *mainsLine) each(f func(validate.Piece)) {
	r := rand.New(rand.NewPCG(m.seed, 0xa1))
	dwell := m.dwell
	if dwell == [4]float64{} {
		dwell = [4]float64{0, 0.02, 0.02, 0.02}
	}
	var p validate.Piece
	for i, n := 0, int(m.seconds*float64(m.rate)); i < n; {
		l := capture.Level(1 + r.IntN(3))
		if dwell[l] == 0 {
			continue
		}
		p.Level, p.At, p.Volts = l, p.At[:0], p.Volts[:0]
		for end := i + 1 + int(r.ExpFloat64()*dwell[l]*float64(m.rate)); i < min(end, n); i++ {
			t := float64(i) / float64(m.rate)
			if m.idle != nil && m.idle(t) {
				continue
			}
			p.At = append(p.At, capture.Tick(i)*1024)
			p.Volts = append(p.Volts, m.volts(l, t, r.NormFloat64()))
		}
		f(p)
	}
}

func (m *mainsLine) clock() capture.Clock { return capture.Clock{Num: int64(m.rate) * 1024, Den: 1} }

// mains examines the line.
func (m *mainsLine) mains(nominal float64) *validate.Mains {
	v := validate.NewMains(m.clock(), nominal)
	m.each(v.Add)
	v.Flush()
	return v
}

// mainsShare is a series drop as in observables.md: full in one open state, half in mark, none in the other.
var mainsShare = [4]float64{0, 0, 0.5, 1}

var mainsLevels = [4]float64{0, 0, 12, 24}

// turnsOff is how far two phases in cycles are apart, in degrees.
func turnsOff(a, b float64) float64 { return math.Abs(math.Remainder(a-b, 1)) * 360 }

// Hum of a known frequency, size and phase comes out of a talking line: frequency within 0.01 Hz, size within 3 %, phase at
// the end within 3 degrees, and nothing in the state where there is none.
func TestMainsHum(t *testing.T) {
	t.Parallel()
	tests := []struct {
		hz, peak, noise, seconds float64
		rate                     int
		dwell                    [4]float64
	}{
		{50.03, 1, 0.1, 60, 2500, [4]float64{}},
		{59.9, 0.4, 0.2, 60, 2500, [4]float64{}},
		{49.2, 0.5, 0.1, 60, 2500, [4]float64{0, 0.003, 0.03, 0.008}},
		{50.03, 0.2, 0.05, 10, 20000, [4]float64{0, 0.002, 0.1, 0.002}},
		{49.93, 0.5, 0.05, 600, 1000, [4]float64{}},
		{50, 1, 0.1, 60, 2000, [4]float64{}}, // samples locked to the mains
	}
	for i, tt := range tests {
		t.Run(fmt.Sprintf("%g Hz %g V %g s", tt.hz, tt.peak, tt.seconds), func(t *testing.T) {
			t.Parallel()
			if tt.seconds > 20 {
				tt.seconds /= mainsLess
			}
			line := mainsLine{rate: tt.rate, seconds: tt.seconds, dwell: tt.dwell, seed: uint64(i)}
			line.volts = func(l capture.Level, s, noise float64) float64 {
				return mainsLevels[l] + mainsShare[l]*tt.peak*math.Cos(2*math.Pi*(tt.hz*s-0.1)) + tt.noise*noise
			}
			m := line.mains(0)
			f := m.Facts()
			if !f.Found || f.Chance > 1e-3 {
				t.Fatalf("not found, chance %g", f.Chance)
			}
			if math.Abs(f.Hz-tt.hz) > 0.01 || math.Abs(f.Hz-tt.hz) > 5*f.HzErr {
				t.Errorf("%.5f Hz, standard error %.5f", f.Hz, f.HzErr)
			}
			if want := tt.hz * tt.seconds; math.Abs(f.Cycles-want) > 0.05*want+10 {
				t.Errorf("%g cycles, want about %g", f.Cycles, want)
			}
			for l := capture.Low; l <= capture.High; l++ {
				want, tone := mainsShare[l]*tt.peak, f.States[l].Tones[0]
				if math.Abs(tone.Peak-want) > 0.03*want+4*tone.PeakErr || tone.PeakErr > 0.02*tt.peak {
					t.Errorf("%v: %.4f V +-%.4f, want %.4f", l, tone.Peak, tone.PeakErr, want)
				}
				for k, tone := range f.States[l].Tones[1:] {
					if tone.Peak > 5*tone.PeakErr+0.002*tt.peak {
						t.Errorf("%v: harmonic %d of %.4f V +-%.4f", l, k+2, tone.Peak, tone.PeakErr)
					}
				}
			}
			end := tt.seconds - 0.01
			phase, ok := m.Phase(line.clock().Ticks(end))
			if d := turnsOff(phase-f.States[capture.High].Tones[0].Phase, tt.hz*end-0.1); !ok || d > 3 {
				t.Errorf("at the end %.2f degrees off, known %v", d, ok)
			}
		})
	}
}

// Harmonics 3 and 5 have their own sizes and phases; a capture at 20 kSa/s averages 0.4 ms and that is made good.
func TestMainsHarmonics(t *testing.T) {
	t.Parallel()
	line := mainsLine{rate: 20000, seconds: 20}
	want := [7]float64{1, 0, 0.4, 0, 0.2, 0, 0.1}
	line.volts = func(l capture.Level, s, noise float64) float64 {
		v := 20 + 0.05*noise
		for k, peak := range want {
			v += peak * math.Cos(2*math.Pi*float64(k+1)*(50.02*s-0.03))
		}
		return v
	}
	f := line.mains(50).Facts()
	for l := capture.Low; l <= capture.High; l++ {
		base := f.States[l].Tones[0].Phase
		for k, peak := range want {
			tone := f.States[l].Tones[k]
			if math.Abs(tone.Peak-peak) > 0.03*peak+5*tone.PeakErr {
				t.Errorf("%v: harmonic %d is %.4f V +-%.4f, want %g", l, k+1, tone.Peak, tone.PeakErr, peak)
			}
			if d := turnsOff(tone.Phase, float64(k+1)*base); peak > 0 && d > 3 {
				t.Errorf("%v: harmonic %d is %.1f degrees off", l, k+1, d)
			}
		}
	}
	if f.Crest.Kind != validate.RectifierUnknown || !math.IsNaN(f.Crest.Phase) {
		t.Errorf("a sawtooth seen: %+v", f.Crest)
	}
}

// The chance that is stated holds in noise: of 200 lines no more are found at chance c than c allows (3.1 standard deviations).
func TestMainsFalseAlarm(t *testing.T) {
	t.Parallel()
	found, under := 0, map[float64]int{0.05: 0, 0.2: 0}
	const lines = 200 / mainsLess
	for seed := range uint64(lines) {
		line := mainsLine{rate: 1000, seconds: 8.1, seed: seed}
		if seed%2 == 0 {
			line.dwell = [4]float64{0, 0.005, 0.05, 0.01}
		}
		line.volts = func(l capture.Level, _, noise float64) float64 { return mainsLevels[l] + 0.05*float64(l)*noise }
		f := line.mains(0).Facts()
		if f.Found {
			found++
		}
		if f.Found != (f.Chance <= 1e-3) || f.Found == math.IsNaN(f.Hz) {
			t.Fatalf("seed %d: %+v", seed, f)
		}
		for c := range under {
			if f.Chance <= c {
				under[c]++
			}
		}
	}
	t.Logf("found %d of %d; stated chance at most: %v", found, lines, under)
	most := func(c float64) int { return int(lines*c + 3.1*math.Sqrt(lines*c*(1-c)) + 1) }
	if found > most(1e-3) || under[0.05] > most(0.05) || under[0.2] > most(0.2) {
		t.Errorf("found %d of %d; stated chance at most: %v", found, lines, under)
	}
}

// A wandering frequency is followed within 6 degrees at once and 3 a second later, and silence of 3 s is bridged: what the
// frequency drifts meanwhile, 0.005 Hz/s for 3.6 s since the middle of the last window, is 12 degrees.
func TestMainsFollows(t *testing.T) {
	t.Parallel()
	line := mainsLine{rate: 2500, seconds: 120, seed: 5}
	turns := func(s float64) float64 { return 50*s - 0.05*math.Cos(2*math.Pi*s/60)*60/(2*math.Pi) } // 49.95 to 50.05 Hz
	line.idle = func(s float64) bool { return math.Mod(s, 20) > 17 || s > 50 && s < 51.5 }
	line.volts = func(l capture.Level, s, noise float64) float64 {
		return mainsLevels[l] + mainsShare[l]*0.5*math.Cos(2*math.Pi*turns(s)) + 0.1*noise
	}
	m := validate.NewMains(line.clock(), 0)
	var worst, steady, past float64
	var n, unknown int
	next, first := 3., math.NaN()
	line.each(func(p validate.Piece) {
		m.Add(p)
		if len(p.At) == 0 {
			return
		}
		s := line.clock().Seconds(p.At[len(p.At)-1])
		if s < next {
			return
		}
		next = s + 0.25
		for _, back := range []float64{0, 1.1} {
			phase, ok := m.Phase(line.clock().Ticks(s - back))
			if !ok {
				unknown++
				continue
			}
			if first != first {
				first = phase - turns(s-back)
			}
			n++
			off := (phase - turns(s-back) - first) * 360
			worst = max(worst, math.Abs(off))
			if since := math.Mod(s, 20); since > 2 && (s < 50 || s > 54) {
				if steady = max(steady, math.Abs(off)); back > 0 {
					past = max(past, math.Abs(off))
				}
			}
		}
	})
	if unknown > 0 || worst > 13 || steady > 6 || past > 3 || n < 600 {
		t.Errorf("phase asked %d times, not known %d; worst %.1f degrees, without silence %.1f at once, %.1f of a second ago",
			n, unknown, worst, steady, past)
	}
	if f := m.Facts(); f.Cycles < 4000 || math.Abs(f.Hz-50) > 0.01 {
		t.Errorf("%g cycles at %g Hz", f.Cycles, f.Hz)
	}
}

// After a silence of a minute nobody can know the phase; it is taken up so that tones lie as before.
func TestMainsTakesUp(t *testing.T) {
	t.Parallel()
	line := mainsLine{rate: 2500, seconds: 100, idle: func(s float64) bool { return s > 20 && s < 80 }}
	line.volts = func(l capture.Level, s, noise float64) float64 {
		return mainsLevels[l] + mainsShare[l]*math.Cos(2*math.Pi*49.97*s) + 0.1*noise
	}
	m := line.mains(0)
	for _, s := range []float64{50, 79} {
		if phase, ok := m.Phase(line.clock().Ticks(s)); ok {
			t.Errorf("at %g s the phase is said to be %g", s, phase)
		}
	}
	f := m.Facts()
	for _, s := range []float64{19, 85, 99} {
		phase, ok := m.Phase(line.clock().Ticks(s))
		if d := turnsOff(phase-f.States[capture.High].Tones[0].Phase, 49.97*s); !ok || d > 3 {
			t.Errorf("at %g s: %.1f degrees off, known %v", s, d, ok)
		}
	}
	if math.Abs(f.Hz-49.97) > 0.005 || f.States[capture.High].Tones[0].Peak < 0.98 {
		t.Errorf("%g Hz +-%g, %g V", f.Hz, f.HzErr, f.States[capture.High].Tones[0].Peak)
	}
}

// smoothed is a rectified cosine behind a capacitor that a steady current discharges: up along the crest, down in a line.
func smoothed(turn, fall float64, full bool) float64 {
	period := 1.
	if full {
		period = 0.5
	}
	x := turn/period - math.Floor(turn/period) // of a recharge period, since the crest
	return max(1-fall*x, math.Cos(2*math.Pi*(x-1)*period))
}

// Ripple of a smoothed supply gives the crest of the mains within 5 degrees and the kind of rectifier, with noise, with hum in
// series, and in the simplest form of a jump and a line.
func TestMainsCrest(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name  string
		kind  validate.Rectifier
		hum   float64
		noise float64
		shape func(turn float64) float64
	}{
		{"full-wave", validate.FullWave, 0, 0.05, func(x float64) float64 { return smoothed(x, 0.1, true) }},
		{"full-wave, deep", validate.FullWave, 0, 0.05, func(x float64) float64 { return smoothed(x, 0.25, true) }},
		{"full-wave beside hum", validate.FullWave, 0.5, 0.1, func(x float64) float64 { return smoothed(x, 0.1, true) }},
		{"half-wave", validate.HalfWave, 0, 0.05, func(x float64) float64 { return smoothed(x, 0.15, false) }},
		{"half-wave, deep", validate.HalfWave, 0, 0.1, func(x float64) float64 { return smoothed(x, 0.3, false) }},
		{"half-wave beside hum", validate.HalfWave, 0.3, 0.05, func(x float64) float64 { return smoothed(x, 0.15, false) }},
		{"full-wave, jump", validate.FullWave, 0, 0.05, func(x float64) float64 { return -0.1 * (2*x - math.Floor(2*x)) }},
		{"half-wave, jump", validate.HalfWave, 0, 0.05, func(x float64) float64 { return -0.1 * (x - math.Floor(x)) }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			const hz, crest = 50.04, 0.37
			line := mainsLine{rate: 5000, seconds: 30}
			line.volts = func(l capture.Level, s, noise float64) float64 {
				return mainsLevels[l]*tt.shape(hz*s-crest) + mainsShare[l]*tt.hum*math.Sin(2*math.Pi*hz*s) + tt.noise*noise
			}
			if tt.name[len(tt.name)-4:] == "jump" {
				line.volts = func(l capture.Level, s, noise float64) float64 {
					return mainsLevels[l]*(1+tt.shape(hz*s-crest)) + tt.noise*noise
				}
			}
			m := line.mains(0)
			f := m.Facts()
			if !f.Found || f.Crest.Kind != tt.kind || math.Abs(f.Hz-hz) > 0.01 {
				t.Fatalf("found %v, %g Hz, %+v", f.Found, f.Hz, f.Crest)
			}
			at := line.seconds - 1
			phase, ok := m.Phase(line.clock().Ticks(at))
			period := 1.
			if tt.kind == validate.FullWave {
				period = 0.5
			}
			off := math.Remainder((phase-f.Crest.Phase)-(hz*at-crest), period) * 360
			t.Logf("crest %.2f degrees off, %+v", off, f.Crest)
			if !ok || math.Abs(off) > 5 {
				t.Errorf("crest %.2f degrees off, known %v", off, ok)
			}
			if f.Crest.Phase < 0 || f.Crest.Phase >= period || f.Crest.Rise > 0.35 {
				t.Errorf("%+v", f.Crest)
			}
		})
	}
}

// Frequencies that step or ramp as an island's do are followed without losing or gaining a cycle, and a level that settles
// slowly does not hide weak hum.
func TestMainsChanges(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name    string
		turns   func(s float64) float64
		peak    float64
		settle  float64 // V at the beginning
		degrees float64
	}{
		{"step of 2 Hz", func(s float64) float64 { return 50*s + 2*max(s-15, 0) }, 0.5, 0, 3},
		{"ramp of 0.03 Hz/s", func(s float64) float64 { return 49.5*s + 0.015*s*s }, 0.5, 0, 6},
		{"settling", func(s float64) float64 { return 49.9 * s }, 0.04, 12, 10},
	}
	for _, tt := range tests {
		line := mainsLine{rate: 2500, seconds: 40}
		line.volts = func(l capture.Level, s, noise float64) float64 {
			return mainsLevels[l] + tt.settle*math.Exp(-s/2) + tt.peak*math.Cos(2*math.Pi*tt.turns(s)) + 0.05*noise
		}
		m := line.mains(0)
		early, known := m.Phase(line.clock().Ticks(17.3))
		late, ok := m.Phase(line.clock().Ticks(39.5))
		if off := (late - early - (tt.turns(39.5) - tt.turns(17.3))) * 360; !known || !ok || !(math.Abs(off) <= tt.degrees) {
			t.Errorf("%s: %.2f degrees gained, known %v and %v", tt.name, off, known, ok)
		}
		if f := m.Facts(); f.Cycles < 39*49 {
			t.Errorf("%s: followed for %.0f cycles only", tt.name, f.Cycles)
		}
	}
}

// What the user says of the nominal frequency is not assumed: the mains that are there are found.
func TestMainsNominal(t *testing.T) {
	t.Parallel()
	for _, nominal := range []float64{0, 50, 60} {
		line := mainsLine{rate: 2500, seconds: 8}
		line.volts = func(l capture.Level, s, noise float64) float64 {
			return mainsLevels[l] + mainsShare[l]*math.Cos(2*math.Pi*50.4*s) + 0.1*noise
		}
		if f := line.mains(nominal).Facts(); !f.Found || math.Abs(f.Hz-50.4) > 0.01 {
			t.Errorf("nominal %g: found %v, %g Hz", nominal, f.Found, f.Hz)
		}
	}
}

// Cutting pieces anywhere changes nothing.
func TestMainsCutsDoNotMatter(t *testing.T) {
	t.Parallel()
	line := mainsLine{rate: 2500 / (1 + mainsLess/4), seconds: 2.9, seed: 3}
	line.volts = func(l capture.Level, s, noise float64) float64 {
		return mainsLevels[l]*(1+0.01*smoothed(50.1*s, 0.2, true)) + mainsShare[l]*0.3*math.Cos(2*math.Pi*50.1*s) + 0.05*noise
	}
	whole := line.mains(0)
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.SampledFrom([]float64{0, 0.5, 0.9}).Draw(t, "share of single samples")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		cut := validate.NewMains(line.clock(), 0)
		line.each(func(p validate.Piece) { cutPiece(p, r, share, cut.Add) })
		cut.Flush()
		if d := cmp.Diff(whole.Facts(), cut.Facts(), cmpopts.EquateApprox(1e-9, 1e-12), cmpopts.EquateNaNs()); d != "" {
			t.Fatalf("(-whole +cut)\n%s", d)
		}
	})
}

// cutPiece cuts a piece at random, a share of it into single samples.
func cutPiece(p validate.Piece, r *rand.Rand, share float64, add func(validate.Piece)) {
	for i := 0; i < len(p.At); {
		n := 1
		if r.Float64() >= share {
			n += r.IntN(200)
		}
		n = min(n, len(p.At)-i)
		add(validate.Piece{Level: p.Level, At: p.At[i : i+n], Volts: p.Volts[i : i+n]})
		i += n
	}
}

// Nothing is made of nothing: no pieces, constant volts, volts that are no numbers, a clock too coarse.
func TestMainsOfNothing(t *testing.T) {
	t.Parallel()
	for name, volts := range map[string]float64{"constant": 12, "not a number": math.NaN(), "endless": math.Inf(1)} {
		line := mainsLine{rate: 2000, seconds: 6, volts: func(capture.Level, float64, float64) float64 { return volts }}
		if f := line.mains(0).Facts(); f.Found || f.Chance != 1 || !math.IsNaN(f.Hz) {
			t.Errorf("%s: %+v", name, f)
		}
	}
	slow := mainsLine{rate: 2000, seconds: 6}
	slow.volts = func(_ capture.Level, s, _ float64) float64 { return math.Cos(2 * math.Pi * 50 * s) }
	m := validate.NewMains(capture.Clock{Num: 100, Den: 1}, 0)
	slow.each(m.Add)
	m.Flush()
	if f := m.Facts(); f.Found {
		t.Errorf("found with a clock of 10 ms: %+v", f)
	}
	if _, ok := m.Phase(0); ok {
		t.Error("a phase is known")
	}
}

// mainsLong is one minute at 20 kSa/s, mostly in long pieces.
func mainsLong() (pieces []validate.Piece, clock capture.Clock, samples int) {
	line := mainsLine{rate: 20000, seconds: 60, dwell: [4]float64{0, 0.05, 0.5, 0.05}}
	line.volts = func(l capture.Level, s, noise float64) float64 {
		return mainsLevels[l] + mainsShare[l]*0.3*math.Cos(2*math.Pi*50.02*s) + 0.05*noise
	}
	line.each(func(p validate.Piece) {
		samples += len(p.At)
		pieces = append(pieces, validate.Piece{Level: p.Level, At: append([]capture.Tick(nil), p.At...),
			Volts: append([]float64(nil), p.Volts...)})
	})
	return pieces, line.clock(), samples
}

// go test ./decode/validate -run '^$' -bench 'Mains|Supply' -benchtime 20x
func BenchmarkMains(b *testing.B) {
	pieces, clock, samples := mainsLong()
	b.ReportAllocs()
	for b.Loop() {
		m := validate.NewMains(clock, 0)
		for _, p := range pieces {
			m.Add(p)
		}
		m.Flush()
		if !m.Facts().Found {
			b.Fatal("not found")
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(samples), "ns/sample")
}
