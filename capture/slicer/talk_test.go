package slicer_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/slicer"
)

// telegraph makes start-stop characters of random octets in frames of two talkers, as times at which each opens or closes.
type telegraph struct {
	bit   float64 // s
	now   float64
	feed  []float64 // alternately opens and closes
	other []float64
	r     *rand.Rand
}

func newTelegraph(baud float64, seed uint64) *telegraph {
	return &telegraph{bit: 1 / baud, r: rand.New(rand.NewPCG(seed, 77))}
}

// frame sends n octets: 1 start, 8 data, even parity, 1 stop element.
func (w *telegraph) frame(feed bool, n int) {
	at := &w.other
	if feed {
		at = &w.feed
	}
	for range n {
		v := w.r.Uint32() & 0xff
		bits := v<<1 | (parity(v) << 9) | 1<<10
		mark := true
		for i := range 11 {
			if on := bits>>i&1 == 1; on != mark {
				*at = append(*at, w.now+float64(i)*w.bit)
				mark = on
			}
		}
		w.now += 11 * w.bit
	}
}

func parity(v uint32) (p uint32) {
	for ; v > 0; v >>= 1 {
		p ^= v & 1
	}
	return p
}

// dialogue is polls and replies for so many seconds, with pauses.
func (w *telegraph) dialogue(seconds, pause float64) {
	for end := w.now + seconds; w.now < end; w.now += pause * (0.5 + w.r.Float64()) {
		w.frame(false, 8)
		w.now += 0.02 + 0.01*w.r.Float64()
		w.frame(true, 8)
	}
}

// block is what a sender does, for capturetest.Loop.
func sender(c capture.Clock, at []float64) *capture.Block {
	b := &capture.Block{First: capture.High}
	for i, t := range at {
		to := capture.Low
		if i%2 == 1 {
			to = capture.High
		}
		b.At, b.To = append(b.At, c.Ticks(t)), append(b.To, to)
	}
	return b
}

// line is a loop on which the telegraph plays.
func (w *telegraph) line(l capturetest.Loop) *capturetest.Loop {
	l.Feed, l.Other = sender(l.Clock(), w.feed), sender(l.Clock(), w.other)
	if l.Seconds == 0 {
		l.Seconds = w.now + 0.1
	}
	return &l
}

// edge is a true transition.
type edge struct {
	at float64 // ticks
	to capture.Level
}

// truth is when the volts of a loop with a steady supply pass the midpoints, by the closed form of capturetest.Loop.
func truth(l *capturetest.Loop) []edge {
	supply, place := l.Supply, l.Place
	if supply == 0 {
		supply = 24
	}
	if place == 0 {
		place = 0.5
	}
	level := map[capture.Level]float64{capture.Low: 0, capture.Mid: supply * place, capture.High: supply}
	tau := map[capture.Level]float64{capture.Low: place, capture.Mid: place * (1 - place), capture.High: 1 - place}
	second := float64(l.Rate) * 1024
	var out []edge
	v, now, state := level[capture.Mid], 0.0, capture.Mid
	i, j := 0, 0
	feed, other := true, true
	for i < len(l.Feed.At) || j < len(l.Other.At) {
		var next float64
		if j == len(l.Other.At) || i < len(l.Feed.At) && l.Feed.At[i] <= l.Other.At[j] {
			next, feed = float64(l.Feed.At[i]), l.Feed.To[i] != capture.Low
			i++
		} else {
			next, other = float64(l.Other.At[j]), l.Other.To[j] != capture.Low
			j++
		}
		decay := func(t float64) float64 {
			if l.Tau == 0 {
				return level[state]
			}
			return level[state] + (v-level[state])*math.Exp(-t/second/(l.Tau*tau[state]))
		}
		v, now = decay(next-now), next
		was := state
		switch {
		case !feed:
			state = capture.Low
		case !other:
			state = capture.High
		default:
			state = capture.Mid
		}
		if state == was {
			continue
		}
		half := (level[was] + level[state]) / 2
		delay := l.Tau * tau[state] * math.Log(math.Max((v-level[state])/(half-level[state]), 1))
		out = append(out, edge{now + delay*second, state})
	}
	return out
}

// sliced is all that a slicer gave, put together.
type sliced struct {
	capturetest.Content
	doubt []capture.Tick
	found slicer.Found
	first []capture.Level // of each block
}

// slice runs a recording through a slicer in blocks of so many samples and checks every block that comes out.
func slice(t testing.TB, info capture.Info, all *capture.Block, cut int, opt slicer.Options) *sliced {
	t.Helper()
	return run(t, info, capturetest.Pieces(info, all, cut), opt)
}

func run(t testing.TB, info capture.Info, src capture.Source, opt slicer.Options) *sliced {
	t.Helper()
	opt.FullScale = info.FullScale
	s := slicer.New(info.Clock, opt)
	out := new(sliced)
	var prev *capture.Block
	emit := func(b *capture.Block) error {
		if err := capturetest.Check(prev, b); err != nil {
			t.Fatalf("block %d: %v", out.Blocks, err)
		}
		if len(b.Doubt) != len(b.At) {
			t.Fatalf("%d transitions, %d doubts", len(b.At), len(b.Doubt))
		}
		if prev == nil {
			prev = new(capture.Block)
			out.Start, out.First = b.Start, b.First
			if b.Gap.Present() {
				out.Start = b.Gap.From
			}
		}
		if b.Gap.Present() {
			out.Gaps, out.After = append(out.Gaps, b.Gap), append(out.After, b.First)
		}
		b.CopyTo(prev)
		out.Blocks++
		out.End = b.End
		if b.First == capture.Unknown && len(b.At) > 0 {
			// Levels become known: no change of the line.
			b.At, b.To, b.Doubt = b.At[1:], b.To[1:], b.Doubt[1:]
		}
		out.At, out.To, out.doubt = append(out.At, b.At...), append(out.To, b.To...), append(out.doubt, b.Doubt...)
		out.SampleAt, out.Volts = append(out.SampleAt, b.SampleAt...), append(out.Volts, b.Volts...)
		out.first = append(out.first, b.First)
		return nil
	}
	var b capture.Block
	for src.Next(&b) == nil {
		if err := s.Add(&b, emit); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Flush(emit); err != nil {
		t.Fatal(err)
	}
	out.found = s.Found()
	return out
}
