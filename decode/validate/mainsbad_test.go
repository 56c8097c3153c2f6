package validate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/statistic"
	"linewitness/decode/uart"
	"linewitness/decode/validate"
)

// struckFrames is a sender of 8 characters of 9 ms, four frames a second, each at a time that pace makes of the usual one; hit says with
// what chance an instant strikes the character that stands there.
func struckFrames(seed uint64, frames int, follow bool, pace func(s float64) float64, hit func(s float64) float64) *validate.Fold {
	clock, r := capture.Nanoseconds, rand.New(rand.NewPCG(seed, 5))
	p := &link.Profile{Line: uart.Line{Speed: 1200, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}}}
	f := validate.NewFold(p, clock)
	if follow {
		f.Mains(func(t capture.Tick) (float64, bool) { return 49.9 * clock.Seconds(t), true })
	}
	for n := range frames {
		at := pace(0.25*float64(n) + 1 + 0.04*r.Float64())
		fr := link.Frame{At: clock.Ticks(at), End: clock.Ticks(at + 0.0733), Turnaround: -1, Chars: make([]uart.Character, 8)}
		for i := range fr.Chars {
			c := &fr.Chars[i]
			c.At, c.Bias = clock.Ticks(at+float64(i)*11/1200), float32(math.NaN())
			if r.Float64() < hit(clock.Seconds(c.At)) && fr.Why == 0 {
				c.Fault, fr.Why = uart.FaultParity, link.WhyParity
			}
		}
		f.Add(&fr, &validate.Quality{Bias: math.NaN(), Dirty: true})
	}
	return f
}

// Losses that come at one phase of the mains, or at two opposite ones, are told from frames that stand there anyway.
func TestLossesFollowTheMains(t *testing.T) {
	t.Parallel()
	free := func(s float64) float64 { return s }
	at := func(hz float64, k float64) func(float64) float64 {
		return func(s float64) float64 {
			if math.Cos(2*math.Pi*hz*k*s) > 0.8 {
				return 0.2
			}
			return 0
		}
	}
	for _, c := range []struct {
		name   string
		follow bool
		hit    func(float64) float64
	}{
		{"phase known", true, at(49.9, 1)}, {"phase known, both half waves", true, at(49.9, 2)}, {"levels alone", false, at(49.9, 1)},
	} {
		all := struckFrames(1, 1200, c.follow, free, c.hit).FactList()
		phase, scan := factOf(t, all, "mains.losses-phase", capture.SideUnknown), factOf(t, all, "mains.losses-scan", capture.SideUnknown)
		if c.follow && (!(phase.P < 1e-9) || scan.Measured() || phase.N < 50) {
			t.Errorf("%s: %+v %+v", c.name, phase, scan)
		}
		if !c.follow && (!(scan.P < 1e-6) || math.Abs(scan.Value-49.9) > 0.1 || phase.Measured()) {
			t.Errorf("%s: %+v %+v", c.name, phase, scan)
		}
	}
}

// Losses by chance are not called locked to the mains more often than p says, though every frame is: exact binomial bound of 1e-4.
func TestLockedPollsAreNoLockedLosses(t *testing.T) {
	t.Parallel()
	const lines = 300
	locked := func(s float64) float64 { return math.Round(49.9*s) / 49.9 }
	for _, follow := range []bool{true, false} {
		id := map[bool]string{true: "mains.losses-phase", false: "mains.losses-scan"}[follow]
		var p []float64
		for i := range lines {
			share := 0.005 + 0.03*float64(i%7)/6
			f := struckFrames(uint64(i), 160, follow, locked, func(float64) float64 { return share })
			if x := factOf(t, f.FactList(), id, capture.SideUnknown); x.P == x.P {
				p = append(p, x.P)
			}
		}
		for _, level := range []float64{0.05, 0.01} {
			n := 0
			for _, v := range p {
				if v <= level {
					n++
				}
			}
			t.Logf("%s: %d of %d at most %g", id, n, len(p), level)
			if len(p) < lines/3 || statistic.BinomialTest(n, len(p), level, statistic.Greater) < 1e-4 {
				t.Errorf("%s: %d of %d at most %g", id, n, len(p), level)
			}
		}
	}
}
