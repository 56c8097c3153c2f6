package tally_test

import (
	"testing"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/link"
	"linewitness/decode/tally"
	"linewitness/decode/uart"
)

// Characters wait until their phase is known. Bad ones count as bad, those of whole frames as good; the rest of a damaged frame may be
// either and does not count.
func TestPhasesWait(t *testing.T) {
	t.Parallel()
	p := &link.Profile{Line: uart.Line{Speed: 1000}, Controller: capture.Indoor, Responder: capture.Outdoor, Timing: link.Timing{TwoTalkers: true}}
	talk := tally.NewTalk(p, bit, clock)
	front := capture.Tick(0)
	talk.WithPhase(func(at capture.Tick) (float64, tally.PhaseKnown) {
		switch {
		case at >= front:
			return 0, tally.PhaseLater
		case at >= 300_000 && at < 400_000:
			return 0, tally.PhaseNever
		}
		return float64(at)/100_000 + 0.01, tally.PhaseNow
	})
	char := func(at capture.Tick, fault uart.Fault) uart.Character {
		return uart.Character{At: at, End: at + 10*bit, Fault: fault, Space: capture.Low}
	}
	frames := []link.Frame{
		{At: 0, End: 60_000, Side: capture.Indoor, Turnaround: -1, Chars: []uart.Character{char(0, 0), char(50_000, uart.FaultGlitch)}},
		{At: 200_000, End: 260_000, Side: capture.Outdoor, Turnaround: 140_000, Why: link.WhyParity, Chars: []uart.Character{char(200_000, 0), char(250_000, uart.FaultParity)}},
		{At: 300_000, End: 310_000, Side: capture.Outdoor, Turnaround: -1, Chars: []uart.Character{char(300_000, 0)}},
		{At: 400_000, End: 410_000, Side: capture.Indoor, Turnaround: -1, Why: link.WhyCut, Chars: []uart.Character{char(400_000, 0)}},
		{At: 500_000, End: 510_000, Side: capture.Outdoor, Turnaround: -1, Chars: []uart.Character{char(500_000, 0)}},
	}
	talk.Take(&burst.Batch{}, frames)
	for _, c := range []struct {
		front                          capture.Tick
		goodIn, badIn, goodOut, badOut int64
	}{{0, 0, 0, 0, 0}, {40_000, 1, 0, 0, 0}, {240_000, 2, 0, 0, 0}, {450_000, 2, 0, 0, 1}, {600_000, 2, 0, 1, 1}} {
		front = c.front
		talk.Settle()
		in, bad := talk.Senders[0].Phases.N()
		out, badOut := talk.Senders[1].Phases.N()
		if in != c.goodIn || bad != c.badIn || out != c.goodOut || badOut != c.badOut {
			t.Errorf("up to %d: %d good and %d bad, %d and %d", c.front, in, bad, out, badOut)
		}
	}
	if n := talk.Senders[0].Phases.Good; n[0] != 1 || n[18] != 1 {
		t.Errorf("good ones stand at %v", n)
	}
}

// A reply waits for its poll, a poll for the reply before it; nothing waits across what was cut off.
func TestWaitsAreOfTheOtherSide(t *testing.T) {
	t.Parallel()
	p := &link.Profile{Line: uart.Line{Speed: 1000}, Controller: capture.Indoor, Responder: capture.Outdoor, Timing: link.Timing{TwoTalkers: true}}
	talk := tally.NewTalk(p, bit, clock)
	at := capture.Tick(0)
	var frames []link.Frame
	add := func(side capture.Side, wait, turn capture.Tick, why link.Why, begins bool) {
		at += wait
		frames = append(frames, link.Frame{At: at, End: at + 10_000, Side: side, Poll: side == capture.Indoor, Turnaround: turn, Why: why, Begins: begins})
		at += 10_000
	}
	add(capture.Indoor, 0, -1, 0, true)
	add(capture.Outdoor, 20, 20, 0, false)
	add(capture.Indoor, 300, -1, 0, false)
	add(capture.Indoor, 500, -1, 0, false) // sent again: no rest after a reply
	add(capture.Outdoor, 21, 21, 0, false)
	add(capture.Indoor, 7000, -1, link.WhyCut, false)
	add(capture.Indoor, 8000, -1, 0, true) // what came before is not known
	add(capture.Outdoor, 22, 22, 0, false)
	add(capture.Indoor, 9000, -1, 0, true)
	talk.Take(&burst.Batch{}, frames)
	if in, out := talk.Senders[0].Waits.N(), talk.Senders[1].Waits.N(); in != 1 || out != 3 {
		t.Errorf("%d rests and %d turn-arounds, want 1 and 3", in, out)
	}
}
