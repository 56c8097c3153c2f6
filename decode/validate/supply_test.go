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

// supply examines the supply of a line.
func (m *mainsLine) supply() *validate.Supply {
	v := validate.NewSupply(m.clock(), validate.DipLimits{})
	m.each(v.Add)
	v.Flush()
	return v
}

// Dips of the supply to 40 to 85 % for 0.05 to 2 s, with recovery in 0.1 s, are found in a line that talks: one event each,
// the depth within 3 %, and the length within a window and the recovery.
func TestSupplyDips(t *testing.T) {
	t.Parallel()
	for i, tt := range []struct{ at, length, left, recovery float64 }{
		{20, 0.05, 0.4, 0}, {15.003, 0.05, 0.85, 0}, {20, 0.2, 0.7, 0.1}, {31.4, 1, 0.6, 0.1}, {20, 2, 0.85, 0}, {40, 2, 0.4, 0.1},
		{0.5, 0.3, 0.6, 0},
	} {
		t.Run(fmt.Sprintf("to %g for %g s", tt.left, tt.length), func(t *testing.T) {
			t.Parallel()
			line := mainsLine{rate: 5000, seconds: 60, dwell: [4]float64{0, 0.004, 0.05, 0.008}, seed: uint64(i)}
			factor := func(s float64) float64 {
				switch {
				case s < tt.at:
					return 1
				case s < tt.at+tt.length:
					return tt.left
				}
				if tt.recovery == 0 {
					return 1
				}
				return 1 - (1-tt.left)*math.Exp(-(s-tt.at-tt.length)/tt.recovery)
			}
			line.volts = func(l capture.Level, s, noise float64) float64 {
				return mainsLevels[l]*factor(s) + mainsShare[l]*0.3*math.Cos(2*math.Pi*50.03*s) + 0.1*noise
			}
			f := line.supply().Facts()
			if f.Dips.N != 1 || f.Both+f.Alone != 1 || f.MidOnly+f.HighOnly != 0 {
				t.Fatalf("%+v", f)
			}
			e := f.Dips.First[0]
			start, length := line.clock().Seconds(e.Start), line.clock().Seconds(e.Length())
			if math.Abs(e.Residual-tt.left) > 0.03 || e.Open || e.Recovered < e.Worst {
				t.Errorf("residual %.3f, %+v", e.Residual, e)
			}
			// The start is that of the first window of 10 ms; the end comes with the first judged one at 92 %, and windows in which
			// the line is open are not judged.
			extra := tt.recovery * math.Log((1-tt.left)/0.08)
			if d := length - tt.length - extra; math.Abs(start-tt.at) > 0.021 || d < -0.021 || d > 0.041 {
				t.Errorf("from %.3f s, %.3f s long; true from %g, %.3f s", start, length, tt.at, tt.length+extra)
			}
			recovery := line.clock().Seconds(e.Recovered - e.Worst)
			if most := tt.length + tt.recovery*math.Log((1-tt.left)/0.1) + 0.041; recovery > most {
				t.Errorf("recovery in %.3f s, at most %.3f", recovery, most)
			}
			if f.Windows < 5000 || f.Covered < 0.85 || f.Covered > 1 || math.Abs(f.High-24) > 0.1 || math.Abs(f.Mid-12) > 0.1 {
				t.Errorf("%d windows, %.3f covered, references %g and %g", f.Windows, f.Covered, f.Mid, f.High)
			}
		})
	}
}

// No dip in sound lines: noisy talk with hum, strong steady ripple of either rectifier, a supply half its worth all along or
// drifting, an open line of 20 s, and a supply that is negative.
func TestSupplySound(t *testing.T) {
	t.Parallel()
	hum := func(l capture.Level, s float64) float64 { return mainsShare[l] * 2 * math.Cos(2*math.Pi*50.03*s) }
	tests := map[string]mainsLine{
		"noise and hum": {volts: func(l capture.Level, s, n float64) float64 { return mainsLevels[l] + hum(l, s) + 0.8*n }},
		"half-wave": {volts: func(l capture.Level, s, n float64) float64 {
			return mainsLevels[l]*smoothed(49.9*s, 0.4, false) + 0.2*n
		}},
		"full-wave": {volts: func(l capture.Level, s, n float64) float64 {
			return mainsLevels[l]*smoothed(49.9*s, 0.3, true) + 0.2*n
		}},
		"low":      {volts: func(l capture.Level, s, n float64) float64 { return 0.5*mainsLevels[l] + hum(l, s) + 0.2*n }},
		"drift":    {volts: func(l capture.Level, s, n float64) float64 { return mainsLevels[l]*(1-0.12*s/60) + 0.2*n }},
		"negative": {volts: func(l capture.Level, _, n float64) float64 { return -mainsLevels[l] + 0.3*n }},
		"open": {idle: func(s float64) bool { return s > 20 && s < 40 },
			volts: func(l capture.Level, _, n float64) float64 { return mainsLevels[l] + 0.2*n }},
		"seldom high": {dwell: [4]float64{0, 0.01, 1, 0.001},
			volts: func(l capture.Level, s, n float64) float64 { return mainsLevels[l] + hum(l, s) + 0.3*n }},
	}
	for name, line := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			line.rate, line.seconds = 4000, 60
			for seed := range uint64(max(4/mainsLess, 1)) {
				line.seed = seed
				if f := line.supply().Facts(); f.Dips.N != 0 || f.Steps != 0 || f.Windows < 2500 {
					t.Errorf("seed %d: %+v", seed, f)
				}
			}
		})
	}
}

// Low pieces alone say nothing, for however long; an open line after a dip that had not ended leaves that open.
func TestSupplyOpenLine(t *testing.T) {
	t.Parallel()
	line := mainsLine{rate: 4000, seconds: 30, dwell: [4]float64{0, 0, 0.1, 0}}
	line.volts = func(l capture.Level, s, n float64) float64 { return mainsLevels[l]*(1-0.4*step(s-9.5)) + 0.1*n }
	s := validate.NewSupply(line.clock(), validate.DipLimits{})
	line.each(func(p validate.Piece) {
		if line.clock().Seconds(p.At[0]) > 10 {
			p.Level = capture.Low
		}
		s.Add(p)
	})
	s.Flush()
	f := s.Facts()
	if f.Dips.N != 1 || !f.Dips.First[0].Open || f.Alone != 1 || f.Windows > 1100 || f.Covered > 0.4 {
		t.Errorf("%+v", f)
	}
	low := mainsLine{rate: 4000, seconds: 10, dwell: [4]float64{0, 1, 0, 0}, volts: line.volts}
	if f := low.supply().Facts(); f.Dips.N != 0 || f.Windows != 0 || f.Covered != 0 || !math.IsNaN(f.Mid) {
		t.Errorf("%+v", f)
	}
}

// A joint moves Mid alone and High stands (observables.md, poor-joint); the reverse is told apart too; the supply moves both.
func TestSupplyJoint(t *testing.T) {
	t.Parallel()
	for i, tt := range []struct {
		name               string
		mid, high          float64
		both, midO, highO_ bool
	}{
		{"joint", 0.6, 1, false, true, false},
		{"high alone", 1, 0.6, false, false, true},
		{"supply", 0.6, 0.6, true, false, false},
	} {
		line := mainsLine{rate: 4000, seconds: 60, dwell: [4]float64{0, 0.004, 0.012, 0.012}, seed: uint64(i)}
		line.volts = func(l capture.Level, s, n float64) float64 {
			v, factor := mainsLevels[l], 1.
			if math.Mod(s, 10) > 9 { // 6 times a second long
				factor = [4]float64{1, 1, tt.mid, tt.high}[l]
			}
			return v*factor + 0.1*n
		}
		f := line.supply().Facts()
		if f.Dips.N != 6 || (f.Both == 6) != tt.both || (f.MidOnly == 6) != tt.midO || (f.HighOnly == 6) != tt.highO_ {
			t.Errorf("%s: %d dips, both %d, mid only %d, high only %d, alone %d", tt.name, f.Dips.N, f.Both, f.MidOnly, f.HighOnly, f.Alone)
		}
	}
}

// A dip while only Mid was on the line, over before High came: High standing then contradicts nothing.
func TestSupplyAlone(t *testing.T) {
	t.Parallel()
	clock := capture.Clock{Num: 1000, Den: 1}
	s := validate.NewSupply(clock, validate.DipLimits{})
	at := capture.Tick(0)
	add := func(l capture.Level, volts float64, n int) {
		p := validate.Piece{Level: l}
		for range n {
			p.At, p.Volts = append(p.At, at), append(p.Volts, volts)
			at++
		}
		s.Add(p)
	}
	for range 20 {
		add(capture.Mid, 12, 200)
		add(capture.High, 24, 50)
	}
	add(capture.Mid, 12*0.6, 200)
	add(capture.High, 24, 100)
	add(capture.Mid, 12, 1000)
	s.Flush()
	f := s.Facts()
	if f.Dips.N != 1 || f.Alone != 1 || math.Abs(f.Dips.First[0].Residual-0.6) > 1e-3 {
		t.Errorf("%+v", f)
	}
}

// A fall for good becomes the reference after a minute and is no dip.
func TestSupplyStep(t *testing.T) {
	t.Parallel()
	line := mainsLine{rate: 2000, seconds: 150}
	line.volts = func(l capture.Level, s, n float64) float64 { return mainsLevels[l]*(1-0.3*step(s-20)) + 0.1*n }
	f := line.supply().Facts()
	if f.Dips.N != 0 || f.Steps != 1 || math.Abs(f.High-16.8) > 0.1 || math.Abs(f.Mid-8.4) > 0.1 {
		t.Errorf("%+v", f)
	}
}

func step(x float64) float64 {
	if x > 0 {
		return 1
	}
	return 0
}

// Cutting pieces anywhere changes nothing.
func TestSupplyCutsDoNotMatter(t *testing.T) {
	t.Parallel()
	line := mainsLine{rate: 4000, seconds: 8, seed: 2}
	line.volts = func(l capture.Level, s, n float64) float64 {
		return mainsLevels[l]*(1-0.4*step(s-4)*step(4.3-s)) + 0.1*n
	}
	whole := line.supply().Facts()
	if whole.Dips.N != 1 {
		t.Fatalf("%+v", whole)
	}
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.SampledFrom([]float64{0, 0.5, 0.9}).Draw(t, "share of single samples")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		cut := validate.NewSupply(line.clock(), validate.DipLimits{})
		line.each(func(p validate.Piece) { cutPiece(p, r, share, cut.Add) })
		cut.Flush()
		if d := cmp.Diff(whole, cut.Facts(), cmpopts.EquateApprox(1e-9, 1e-12), cmpopts.EquateNaNs()); d != "" {
			t.Fatalf("(-whole +cut)\n%s", d)
		}
	})
}

// Once warm neither Mains nor Supply allocates.
func TestMainsSupplySteadyAllocations(t *testing.T) {
	line := mainsLine{rate: 5000, seconds: 40}
	line.volts = func(l capture.Level, s, n float64) float64 {
		return mainsLevels[l] + mainsShare[l]*math.Cos(2*math.Pi*50*s) + 0.1*n
	}
	m, s := validate.NewMains(line.clock(), 0), validate.NewSupply(line.clock(), validate.DipLimits{})
	line.each(func(p validate.Piece) { m.Add(p); s.Add(p) })
	at, volts := make([]capture.Tick, 5000), make([]float64, 5000)
	next := line.clock().Ticks(line.seconds)
	if n := testing.AllocsPerRun(20, func() {
		for i := range at {
			at[i], volts[i] = next, 12
			next += 1024
		}
		p := validate.Piece{Level: capture.Mid, At: at, Volts: volts}
		m.Add(p)
		s.Add(p)
	}); n != 0 {
		t.Errorf("%g allocations a second of recording", n)
	}
}

// See BenchmarkMains for the command.
func BenchmarkSupply(b *testing.B) {
	pieces, clock, samples := mainsLong()
	b.ReportAllocs()
	for b.Loop() {
		s := validate.NewSupply(clock, validate.DipLimits{})
		for _, p := range pieces {
			s.Add(p)
		}
		s.Flush()
		if s.Facts().Windows == 0 {
			b.Fatal("nothing judged")
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(samples), "ns/sample")
}
