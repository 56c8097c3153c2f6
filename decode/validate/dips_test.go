package validate_test

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/decode/validate"
)

// dipsOf feeds the windows of the worked example (200 samples every 100 at 10 kHz).
func dipsOf(factor float64, from, to int) validate.DipFacts {
	_, volts := urmsExample(factor, from, to)
	d := validate.NewDips(capture.Clock{Num: 10000, Den: 1}, validate.DipLimits{Reference: 230})
	for i, v := range validate.UrmsFixed(volts, 200) {
		d.Add(capture.Tick(i*100), capture.Tick(i*100+200), v)
	}
	return d.Facts()
}

// The events of check-values.md 4.4. The first dip is entered by the window at 30 ms and left by the one that starts at
// 100 ms, 90 ms from first start to last end; the second is left by the one at 110 ms, since 204.9712 V is under 211.6.
func TestDipsExample(t *testing.T) {
	t.Parallel()
	ms := func(a, b int) [2]capture.Tick { return [2]capture.Tick{capture.Tick(10 * a), capture.Tick(10 * b)} }
	tests := []struct {
		name                       string
		factor                     float64
		from, to                   int
		dip, swell, gone           [2]capture.Tick
		residual, rise, goneVolts  float64
		dipN, swellN, interruptedN int64
	}{
		{"first dip", 0.4, 40, 100, ms(30, 120), ms(0, 0), ms(0, 0), 0.4, 0, 0, 1, 0, 0},
		{"second dip", 0.4, 45, 105, ms(30, 130), ms(0, 0), ms(0, 0), 0.4, 0, 0, 1, 0, 0},
		{"swell", 1.2, 40, 80, ms(0, 0), ms(30, 100), ms(0, 0), 0, 1.2, 0, 0, 1, 0},
		{"interruption", 0, 40, 140, ms(30, 160), ms(0, 0), ms(40, 150), 0, 0, 0, 1, 0, 1},
		{"shallow", 0.92, 40, 100, ms(0, 0), ms(0, 0), ms(0, 0), 0, 0, 0, 0, 0, 0},
	}
	for _, tt := range tests {
		f := dipsOf(tt.factor, tt.from, tt.to)
		if f.Dips.N != tt.dipN || f.Swells.N != tt.swellN || f.Interruptions.N != tt.interruptedN || f.Windows != 19 {
			t.Errorf("%s: %d dips, %d swells, %d interruptions in %d windows", tt.name, f.Dips.N, f.Swells.N, f.Interruptions.N, f.Windows)
			continue
		}
		check := func(kind string, e validate.DipEvents, span [2]capture.Tick, residual float64) {
			if e.N == 0 {
				return
			}
			got := e.First[0]
			if got.Start != span[0] || got.End != span[1] || math.Abs(got.Residual-residual) > 1e-9 || got.Open {
				t.Errorf("%s: %s %+v, want %v and %g", tt.name, kind, got, span, residual)
			}
			if e.Deepest != got || e.Longest != got || got.Length() != span[1]-span[0] || math.Abs(got.Depth()-math.Abs(1-residual)) > 1e-9 {
				t.Errorf("%s: %s: deepest %+v, longest %+v of one", tt.name, kind, e.Deepest, e.Longest)
			}
		}
		check("dip", f.Dips, tt.dip, tt.residual)
		check("swell", f.Swells, tt.swell, tt.rise)
		check("interruption", f.Interruptions, tt.gone, tt.goneVolts)
	}
}

// A window exactly at the threshold begins nothing, one exactly at the end level ends (below, and equal to or above:
// check-values.md 4.1); between the two an event goes on. Recovery runs from the worst window to the threshold.
func TestDipsHysteresis(t *testing.T) {
	t.Parallel()
	limits := validate.DipLimits{Dip: 0.5, Hysteresis: 0.25, Swell: 2, Interruption: 0.125}
	d := validate.NewDips(capture.Clock{Num: 100, Den: 1}, limits)
	values := []float64{1, 0.5, 0.49, 0.3, 0.4, 0.5, 0.49, 0.5, 0.7, 0.75, 0.6, 1, 2, 2.5, 1.8, 1.75, 0.1, math.NaN(), 0.2}
	for i, v := range values {
		d.Add(capture.Tick(i), capture.Tick(i+1), v)
	}
	f := d.Facts()
	first := validate.DipEvent{Start: 2, End: 10, Residual: 0.3, Worst: 4, Recovered: 8}
	last := validate.DipEvent{Start: 16, End: 19, Residual: 0.1, Worst: 17, Open: true}
	swell := validate.DipEvent{Start: 13, End: 16, Residual: 2.5, Worst: 14, Recovered: 15}
	if f.Dips.N != 2 || f.Dips.First[0] != first || f.Dips.First[1] != last || f.Dips.Deepest != last || f.Dips.Longest != first {
		t.Errorf("dips %+v", f.Dips)
	}
	if f.Swells.N != 1 || f.Swells.First[0] != swell {
		t.Errorf("swells %+v", f.Swells)
	}
	if f.Interruptions.N != 1 || !f.Interruptions.First[0].Open || f.Windows != 18 {
		t.Errorf("interruptions %+v, %d windows", f.Interruptions, f.Windows)
	}
	if again := d.Facts(); again.Dips.N != 2 || d.Facts().Dips.First[1] != last {
		t.Errorf("asked again: %+v", again.Dips)
	}
}

// 20 events are kept and all are counted; the deepest and the longest stand whenever they came.
func TestDipsBounded(t *testing.T) {
	d := validate.NewDips(capture.Clock{Num: 100, Den: 1}, validate.DipLimits{})
	at := capture.Tick(0)
	add := func(v float64, n int) {
		for range n {
			d.Add(at, at+1, v)
			at++
		}
	}
	for i := range 100 {
		v, n := 0.8, 2
		if i == 50 {
			v = 0.3
		}
		if i == 70 {
			n = 9
		}
		add(v, n)
		add(1, 3)
	}
	f := d.Facts()
	if f.Dips.N != 100 || len(f.Dips.First) != validate.MostTimes || f.Dips.First[0].Start != 0 {
		t.Errorf("%d counted, %d kept", f.Dips.N, len(f.Dips.First))
	}
	if f.Dips.Deepest.Residual != 0.3 || f.Dips.Deepest.Start != 250 || f.Dips.Longest.Length() != 10 || f.Dips.Longest.Start != 350 {
		t.Errorf("deepest %+v, longest %+v", f.Dips.Deepest, f.Dips.Longest)
	}
	if n := testing.AllocsPerRun(100, func() { add(0.8, 2); add(1, 2) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

// A sliding reference follows a slow change and stands still during an event (IEC 61000-4-30).
func TestDipsSliding(t *testing.T) {
	t.Parallel()
	d := validate.NewDips(capture.Clock{Num: 50, Den: 1}, validate.DipLimits{Slide: 60})
	at := capture.Tick(0)
	add := func(seconds float64, v func(s float64) float64) {
		for i := range int(50 * seconds) {
			d.Add(at, at+1, v(float64(i)/50))
			at++
		}
	}
	add(600, func(s float64) float64 { return 230 - 60*s/600 }) // 26 % in 10 minutes
	if f := d.Facts(); f.Dips.N != 0 || math.Abs(f.Reference-176) > 1 {
		t.Errorf("a slow fall: %d dips, reference %g", f.Dips.N, f.Reference)
	}
	before := d.Facts().Reference
	add(20, func(float64) float64 { return 100 })
	if f := d.Facts(); f.Dips.N != 1 || !f.Dips.First[0].Open || math.Abs(f.Reference-before) > 0.1 {
		t.Errorf("a dip: %+v, reference %g after %g", f.Dips, f.Reference, before)
	}
	// A step answered by a first-order filter: 1 - 1/e after one time constant.
	step := validate.NewDips(capture.Clock{Num: 50, Den: 1}, validate.DipLimits{Slide: 60, Reference: 1})
	for i := range 3001 {
		step.Add(capture.Tick(i), capture.Tick(i+1), 1.05)
	}
	if got, want := step.Facts().Reference, 1+0.05*(1-math.Exp(-1)); math.Abs(got-want) > 1e-9 {
		t.Errorf("reference %.9f after a minute, want %.9f", got, want)
	}
}
