package validate_test

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/validate"
)

// The runs test gives what counting all orders gives.
func TestRunsAgainstAllOrders(t *testing.T) {
	t.Parallel()
	for n := 1; n <= 11; n++ {
		for k := 1; k <= n; k++ {
			byRuns, all := map[int64]int{}, 0
			p := map[int64]float64{}
			for mask := range uint(1) << n {
				if bits.OnesCount(mask) != k {
					continue
				}
				bad := make([]bool, n)
				for i := range bad {
					bad[i] = mask>>i&1 == 1
				}
				r, q := validate.RunsOf(bad)
				byRuns[r]++
				p[r] = q
				all++
			}
			sum := 0
			for r := int64(1); r <= int64(k); r++ {
				if sum += byRuns[r]; byRuns[r] == 0 {
					continue
				}
				if want := float64(sum) / float64(all); math.Abs(p[r]-want) > 1e-12 {
					t.Errorf("%d bad of %d in %d runs: p %g, all orders give %g", k, n, r, p[r], want)
				}
			}
		}
	}
}

// Independent losses are called clustered at most as often as p says, by an exact binomial bound of 1e-6.
func TestIndependentLossesAreNotClustered(t *testing.T) {
	t.Parallel()
	const lines, level = 1000, 0.05
	r := rand.New(rand.NewPCG(1, 2))
	alarms, limit := 0, 86 // P(binomial(1000, 0.05) > 85) is below 1e-6
	for range lines {
		bad := make([]bool, 50+r.IntN(200))
		share := 0.02 + 0.3*r.Float64()
		for i := range bad {
			bad[i] = r.Float64() < share
		}
		if _, p := validate.RunsOf(bad); p <= level {
			alarms++
		}
	}
	if alarms > limit {
		t.Errorf("%d of %d independent lines called clustered at %g", alarms, lines, level)
	}
}

func factOf(t *testing.T, all []validate.Fact, id string, side capture.Side) validate.Fact {
	t.Helper()
	for _, f := range all {
		if f.ID == id && f.Side == side {
			return f
		}
	}
	t.Fatalf("no fact %s of %v", id, side)
	return validate.Fact{}
}

// damaged is a dialogue of n polls and replies, whose replies lose a stop element where bad says so, at the last of 4 characters.
func damaged(n int, bad func(i int) bool) *validate.Fold {
	f := validate.NewFold(twoTalkers(), capture.Clock{Num: 1000, Den: 1})
	for i := range n {
		at := capture.Tick(i * 500)
		for side := range 2 {
			r := link.Frame{At: at + capture.Tick(side*60), End: at + capture.Tick(side*60+40), Turnaround: -1, Chars: make([]uart.Character, 4)}
			if side == 1 && bad(i) {
				r.Why, r.Chars[3].Fault, r.Chars[3].At = link.WhyStop, uart.FaultStop, r.At+30
			}
			f.Add(&r, &validate.Quality{Bias: math.NaN(), Dirty: r.Why != 0})
		}
	}
	f.Finish(capture.Tick(n * 500))
	return f
}

func TestLossesInOneEpisode(t *testing.T) {
	t.Parallel()
	all := damaged(100, func(i int) bool { return i >= 40 && i < 50 }).FactList()
	if f := factOf(t, all, "errors.clustering", capture.SideB); f.Value != 10 || f.N != 1 || !(f.P < 1e-10) {
		t.Errorf("clustering %+v, want 10 frames in one episode and a tiny p", f)
	}
	f := factOf(t, all, "errors.episodes", capture.SideB)
	if f.Value != 0.01 || f.Times.N != 1 || f.Times.At[0] != 40*500+60 {
		t.Errorf("episodes %+v, want 1 of 100, at 20.06 s", f)
	}
	// Clopper and Pearson, 1 of 100 at 95 %: 0.000253 to 0.054459
	if math.Abs(f.Low-0.000253146) > 1e-8 || math.Abs(f.High-0.054459384) > 1e-8 {
		t.Errorf("interval %.9f to %.9f", f.Low, f.High)
	}
	// One episode is one event however many frames it took: it convicts nobody.
	if f := factOf(t, all, "errors.one-sender", capture.Line); f.P != 1 || f.Low != 0 {
		t.Errorf("one sender by one episode: %+v", f)
	}
	if f := factOf(t, all, "errors.marks-lost", capture.SideB); f.Value != 1 || f.N != 1 || f.Times.At[0] != 40*500+90 {
		t.Errorf("marks lost %+v, want the one episode, at its stop element", f)
	}
}

func TestLossesSpreadOverOneSender(t *testing.T) {
	t.Parallel()
	all := damaged(100, func(i int) bool { return i%5 == 3 }).FactList()
	if f := factOf(t, all, "errors.clustering", capture.SideB); f.Value != 1 || f.P != 1 {
		t.Errorf("clustering %+v, want single frames and p 1", f)
	}
	// 0 against 20 of 100 each: 2 * 2^-20 exactly.
	if f := factOf(t, all, "errors.one-sender", capture.Line); math.Abs(f.P-math.Ldexp(1, -19)) > 1e-15 || f.Value != 0 {
		t.Errorf("one sender %+v, want ratio 0 and p 2^-19", f)
	}
	// Always the last of four: 0.875, by Hoeffding 2 exp(-2 * 20 * 0.375^2).
	if f := factOf(t, all, "errors.position", capture.SideB); f.Value != 0.875 || math.Abs(f.P-2*math.Exp(-5.625)) > 1e-15 {
		t.Errorf("position %+v", f)
	}
}

// Nothing is told that was not seen, and nothing is claimed on a sound dialogue.
func TestSoundLineShowsNoErrors(t *testing.T) {
	t.Parallel()
	for _, f := range damaged(100, func(int) bool { return false }).FactList() {
		switch {
		case f.P < 0.05:
			t.Errorf("%s of %v: p %g on a sound line", f.ID, f.Side, f.P)
		case f.Measured() != (f.Value == f.Value):
			t.Errorf("%s of %v: value %g, unmeasured because %q", f.ID, f.Side, f.Value, f.Unmeasured)
		case f.Times.N != 0:
			t.Errorf("%s of %v shows at %v", f.ID, f.Side, f.Times)
		}
	}
}

func TestShortPulsesByPolarityAndWidth(t *testing.T) {
	t.Parallel()
	f := damaged(100, func(int) bool { return false })
	for i := range 30 { // three episodes of ten: rests of over 1 s, 100 unit intervals at 100 Bd
		f.Glitch(&uart.Glitch{At: capture.Tick(i%10*5 + i/10*5000), Width: 2, Mark: true})
	}
	all := f.FactList()
	marks := factOf(t, all, "errors.short-marks", capture.Line)
	if marks.Times.N != 3 || !(marks.Low < marks.Value && marks.Value < marks.High) {
		t.Errorf("marks %+v, want 3 episodes", marks)
	}
	if w := factOf(t, all, "errors.short-marks-width", capture.Line); w.Value != 0.002 || w.N != 30 {
		t.Errorf("width %+v, want 2 ms of 30 pulses", w)
	}
	if s := factOf(t, all, "errors.short-spaces", capture.Line); s.Value != 0 || s.Low != 0 || !(s.High > 0) {
		t.Errorf("spaces %+v, want none, with an upper limit", s)
	}
}

// The limits of the turn-around need 59 of them (95 % and 95 %, S. S. Wilks 1941); below, the fact says so.
func TestTurnAroundLimitsNeedTheirSample(t *testing.T) {
	t.Parallel()
	sound := func(int) bool { return false }
	if f := factOf(t, damaged(58, sound).FactList(), "dialogue.turn-around", capture.SideB); f.Measured() || f.High == f.High {
		t.Errorf("58 turn-arounds: %+v", f)
	}
	f := factOf(t, damaged(59, sound).FactList(), "dialogue.turn-around", capture.SideB)
	if !f.Measured() || f.Value != 0.02 || f.High != 0.02 || f.Low != 0.02 || f.N != 59 {
		t.Errorf("59 turn-arounds: %+v", f)
	}
}

func TestErrorsTakeNoMemory(t *testing.T) {
	f := damaged(3000, func(i int) bool { return i%3 == 0 })
	r := link.Frame{At: 2000000, End: 2000040, Turnaround: -1, Why: link.WhyStop, Chars: make([]uart.Character, 4)}
	g := uart.Glitch{At: 2000000, Width: 2}
	for range 3000 {
		f.Glitch(&g)
	}
	n := testing.AllocsPerRun(100, func() {
		r.At, r.End, g.At = r.At+500, r.End+500, g.At+500
		f.Add(&r, &validate.Quality{Bias: math.NaN()})
		f.Glitch(&g)
	})
	if n > 0 {
		t.Errorf("%g allocations a frame", n)
	}
}
