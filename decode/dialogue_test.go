package decode_test

import (
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

// talkers stages the invented link of heron with kinds of frames: what each unit does in answer to the other.
type talkers struct {
	seed       uint64
	polls      int
	deaf       float64 // share of good replies that the controller takes for missing: it asks twice more
	lost       float64 // share of replies that are not sent: the controller asks again
	restart    int     // every so many polls the responder starts anew
	reset      int     // every so many polls the controller starts anew
	second     bool    // another controller polls with a period of its own of the same length, 200 ms later
	doubled    float64 // share of replies that a second unit of the same address sends too
	foreign    float64 // share of replies that come from another address
	uncounted  bool
	r          *rand.Rand
	asks, says byte // counts
}

// profile is what talkers speak.
func (k *talkers) profile(t *testing.T) *link.Profile {
	p := heron(t)
	p.Timing.TurnaroundMin, p.Timing.Retries, p.Timing.RetryAfter, p.Timing.SlowPeriod, p.Timing.FaultAfter = 0.01, 2, 0.17, 4, 90
	p.Address = &link.Address{At: 2, Names: []link.Unit{{Value: 0x11, Side: capture.Outdoor}, {Value: 0x12, Side: capture.Outdoor}}}
	kind := func(name string, from capture.Side, head byte, length int) link.Shape {
		s := link.Shape{Name: name, From: from, Match: []link.Match{{Mask: 0xFF, Value: head}}, Length: length}
		if !k.uncounted {
			s.Fields = []link.Field{{Name: "sequence", At: 1, Octets: 1, Bits: 4, Scale: 1, Counter: true}}
		}
		return s
	}
	ask := kind("ask", capture.Indoor, 0xA0, 8)
	ask.Answers = []string{"state"}
	first := kind("first state", capture.Outdoor, 0x5F, 6)
	first.Start = true
	p.Shapes = []link.Shape{ask, kind("state", capture.Outdoor, 0x50, 6), first}
	return p
}

// play puts the dialogue on a line of two levels.
func (k *talkers) play(p *link.Profile) *uarttest.Wire {
	k.r = rand.New(rand.NewPCG(k.seed, 77))
	w := &uarttest.Wire{Clock: capture.Nanoseconds}
	s := uarttest.Sender{Line: uart.Line{Speed: 1200, Format: p.Line.Format}, Jitter: 0.01, Rand: k.r}
	ask := func(count, address byte) {
		w.Send(s, framed(p.Checksum, 0xA0, count&0xF, address, 22, byte(k.r.IntN(2)), 30, 0, 0)...)
	}
	answer := func(head, address byte, wait float64) {
		w.Idle(wait)
		w.Send(s, framed(p.Checksum, head, k.says&0xF, address, byte(40+k.r.IntN(3)), 7, 0)...)
	}
	w.Idle(0.2)
	silent, other := 0, byte(9)
	next := w.Now
	for n := range k.polls {
		w.Now = max(next, w.Now+0.05)
		next = w.Now + 0.4*(1+0.01*k.r.Float64())
		k.asks++
		if k.reset > 0 && n%k.reset == k.reset-1 {
			w.Idle(2)
			next += 2
			k.asks = 0
		}
		if k.restart > 0 && n%k.restart == k.restart-1 {
			silent = 3
		}
		for try := range 3 {
			start := w.Now
			ask(k.asks, 0x11)
			heard := false
			switch {
			case silent > 0:
				if silent--; silent == 0 {
					k.says = 0
					answer(0x5F, 0x11, 0.02)
					heard = true
				}
			case k.r.Float64() < k.lost:
			default:
				k.says++
				from := byte(0x11)
				if k.r.Float64() < k.foreign {
					from = 0x12
				}
				answer(0x50, from, 0.015+0.02*k.r.Float64())
				if k.r.Float64() < k.doubled {
					answer(0x50, from, 0.03)
				}
				heard = k.r.Float64() >= k.deaf
			}
			if heard || try == 2 {
				break
			}
			w.Now = max(w.Now+0.02, start+8*11/1200.0+0.17)
		}
		if k.second {
			other++
			w.Now = next - 0.2
			ask(other, 0x11)
			k.says++
			answer(0x50, 0x11, 0.02)
		}
	}
	w.Idle(0.2)
	return w
}

// What units do in answer to each other convicts what it shows, each alone, and never a sound line.
func TestDialogueIsJudged(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		tap  capture.Tap
		play talkers
		want string
	}{
		{"sound", capture.LoopCurrent, talkers{}, "none/none"},
		{"sound, on a pair", capture.Pair, talkers{}, "none/none"},
		{"sound, no counters", capture.LoopCurrent, talkers{uncounted: true}, "none/none"},
		{"deaf controller", capture.LoopCurrent, talkers{deaf: 0.6}, "deaf-receiver/indoor"},
		{"stone deaf", capture.LoopCurrent, talkers{deaf: 1}, "deaf-receiver/indoor"},
		{"hard of hearing", capture.LoopCurrent, talkers{deaf: 0.1}, "deaf-receiver/indoor"},
		{"deaf controller, no counters", capture.LoopCurrent, talkers{deaf: 1, uncounted: true}, "deaf-receiver/indoor"},
		{"deaf, or the wire beyond the tap", capture.OutdoorTerminal, talkers{deaf: 1}, "unknown/unknown"},
		{"the responder restarts", capture.LoopCurrent, talkers{restart: 40}, "restarts/outdoor"},
		{"the controller restarts", capture.LoopCurrent, talkers{reset: 40}, "restarts/indoor"},
		{"two controllers", capture.Pair, talkers{second: true}, "two-controllers/line"},
		{"two controllers, no counters", capture.Pair, talkers{second: true, uncounted: true}, "two-controllers/line"},
		{"two units of one address", capture.Pair, talkers{doubled: 0.5}, "addressing/line"},
		{"replies from the wrong unit", capture.Pair, talkers{foreign: 0.2}, "addressing/line"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			k := c.play
			k.seed, k.polls = 5, 200
			p := k.profile(t)
			w := k.play(p)
			for _, size := range []int{64, 4096} {
				f := examine(t, w.Source(size), p, decode.Options{Tap: c.tap, Workers: 1 + size/4096})
				if got := f.Verdict.String(); got != c.want {
					t.Errorf("blocks of %d: got %s, want %s: %s", size, got, c.want, f.Verdict.Summary)
					for _, e := range f.Evidence {
						t.Logf("%s: %s", e.ID, e.Says)
					}
					for _, k := range f.Candidates[:5] {
						t.Logf("%s %.3f", k.Key, k.Probability)
					}
				}
			}
		})
	}
}

// Lost replies that are asked for again are no deaf receiver's.
func TestRetriesAreNoDeafReceiver(t *testing.T) {
	t.Parallel()
	for _, uncounted := range []bool{false, true} {
		k := talkers{seed: 6, polls: 200, lost: 0.2, uncounted: uncounted}
		p := k.profile(t)
		f := examine(t, k.play(p).Source(4096), p, decode.Options{Tap: capture.LoopCurrent})
		for _, c := range f.Candidates {
			if (c.String() == "deaf-receiver/indoor" || c.String() == "two-controllers/line") && c.Probability > 0.05 {
				t.Errorf("uncounted %v: %s %.3f", uncounted, c.Key, c.Probability)
			}
		}
	}
}
