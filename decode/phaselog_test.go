package decode

import (
	"math"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/decode/tally"
	"linewitness/decode/validate"
)

// A hum of 49.7 Hz, which then stops: its phase is told to a hundredth of a cycle from where it began, later for what is too near,
// never for what is long gone or was not followed; and the same whatever the steps in which the recording came.
func TestPhaseLogTellsThePhase(t *testing.T) {
	t.Parallel()
	const hz, seconds, hum = 49.7, 40, 30
	clock := capture.Clock{Num: 8000, Den: 1}
	run := func(most int) *phaseLog {
		r := rand.New(rand.NewPCG(1, 1))
		m := validate.NewMains(clock, 0)
		p := newPhaseLog(clock, m)
		p.begin(0)
		steps := rand.New(rand.NewPCG(2, uint64(most)))
		for at := 0; at < seconds*8000; {
			var piece validate.Piece
			piece.Level = capture.High
			for n := 1 + steps.IntN(most); n > 0 && at < seconds*8000; n-- {
				v := 12 + 0.05*r.NormFloat64()
				if at < hum*8000 {
					v += math.Cos(2 * math.Pi * hz * float64(at) / 8000)
				}
				piece.At, piece.Volts = append(piece.At, capture.Tick(at)), append(piece.Volts, v)
				at++
			}
			m.Add(piece)
			p.upTo(capture.Tick(at), false)
		}
		return p
	}
	p := run(4000)
	first, known := p.at(8000)
	if known != tally.PhaseNow {
		t.Fatalf("after a second: %v", known)
	}
	for s := 0.5; s < hum-0.5; s += 0.37 {
		got, known := p.at(clock.Ticks(s))
		want := first + hz*(s-1)
		if d := got - want; known != tally.PhaseNow || math.Abs(d) > 0.01 {
			t.Errorf("at %g s: %g, want %g (%v)", s, got, want, known)
		}
	}
	if _, known := p.at(clock.Ticks(seconds - 2)); known != tally.PhaseLater {
		t.Errorf("two seconds before the front: %v", known)
	}
	if _, known := p.at(-1); known != tally.PhaseNever {
		t.Errorf("before the recording: %v", known)
	}
	q := run(300)
	for s := 0.; s < seconds; s += 0.1 {
		a, b := clock.Ticks(s), clock.Ticks(s)
		x, known := p.at(a)
		y, also := q.at(b)
		if x != y || known != also {
			t.Fatalf("at %g s: %g (%v) in long steps, %g (%v) in short ones", s, x, known, y, also)
		}
	}
}
