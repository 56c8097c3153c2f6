package tally_test

import (
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/tally"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

// struck is a dialogue of chance: polls of 8 or 5 characters by A, replies of 6 by B, and pulses that strike anywhere.
func struck(seed uint64, polls, pulses int) (*uarttest.Wire, *link.Profile) {
	r := rand.New(rand.NewPCG(seed, 5))
	line := uart.Line{Speed: 2400, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}}
	sum, _ := checksum.Parse("sum8-twos-complement")
	p := &link.Profile{Line: line, Framing: link.Framing{Gap: 0.002}, Checksum: &checksum.Spec{Sum: sum, From: 0, To: -1, At: -1},
		Timing: link.Timing{TwoTalkers: true}, Controller: capture.SideA, Responder: capture.SideB}
	w := &uarttest.Wire{Clock: clock}
	send := func(n int, head byte) {
		b := make([]byte, n)
		for i := range b {
			b[i] = byte(r.IntN(256))
		}
		b[0] = head
		p.Checksum.Put(b)
		v := make([]uint16, n)
		for i := range b {
			v[i] = uint16(b[i])
		}
		w.Send(uarttest.Sender{Line: line, Jitter: 0.01, Rand: r}, v...)
	}
	w.Idle(0.1)
	for range polls {
		send([]int{8, 5}[r.IntN(2)], 0xA0)
		w.Idle(0.0025 + 0.01*r.Float64()) // at times less than the margin of an excerpt
		if r.IntN(10) > 0 {
			send(6, 0x50)
		}
		w.Idle(0.05 + 0.2*r.Float64())
	}
	for range pulses {
		w.Disturb(w.Now*r.Float64(), 1, func() float64 { return 1.5 * r.Float64() / line.Speed })
	}
	return w, p
}

// collect reads a line in batches of so many transitions into a keeper and the sums, and gives all frames.
func collect(t *testing.T, w *uarttest.Wire, p *link.Profile, batch int) (*tally.Keeper, *tally.Talk, []link.Frame) {
	t.Helper()
	bit := clock.PerSecond() / p.Speed()
	var keeper *tally.Keeper
	var all []link.Frame
	talk := tally.NewTalk(p, bit, clock)
	read(t, w, p, batch, func(b *burst.Batch, frames []link.Frame, glitches []uart.Glitch, rest capture.Tick) {
		if keeper == nil {
			keeper = tally.NewKeeper(bit, rest)
		}
		all = append(all, frames...)
		keeper.Take(b, frames, glitches)
		talk.Take(b, frames)
	})
	return keeper, talk, all
}

// read reads a line in batches of so many transitions; frames get their sides by their first character.
func read(t testing.TB, w *uarttest.Wire, p *link.Profile, batch int, take func(*burst.Batch, []link.Frame, []uart.Glitch, capture.Tick)) {
	t.Helper()
	dec, framer := uart.NewDecoder(p.Line, clock), link.NewCutter(p, clock)
	reader, rest := uart.NewReader(dec, 0, false), framer.BurstGap(dec)
	polled := capture.Tick(-1)
	cut := burst.New(rest, func() *burst.Batch { return new(burst.Batch) }, func(b *burst.Batch) error {
		var chars uart.Chars
		var frames link.Frames
		reader.Read(&chars, b)
		framer.Cut(&frames, &chars, b)
		for i := range frames.Frames {
			f := &frames.Frames[i]
			f.Side = capture.SideA
			if f.Poll = f.Values[0] == 0xA0; f.Poll {
				polled = f.End
			} else if polled >= 0 {
				f.Side, f.Turnaround, polled = capture.SideB, f.At-polled, -1
			}
		}
		take(b, frames.Frames, chars.Glitches, rest)
		return nil
	})
	cut.Sooner(batch)
	if err := cut.Add(w.Block()); err != nil {
		t.Fatal(err)
	}
	if err := cut.Flush(); err != nil {
		t.Fatal(err)
	}
}

// However bursts are put into batches, excerpts and sums are the same.
func TestBatchesDoNotMatter(t *testing.T) {
	t.Parallel()
	for seed := range uint64(12) {
		w, p := struck(seed, 60, int(seed*seed))
		keeper, talk, _ := collect(t, w, p, 4096)
		want, sums := keeper.Excerpts(), talk.Clone()
		for _, batch := range []int{1, 97, 700} {
			keeper, talk, _ := collect(t, w, p, batch)
			if d := cmp.Diff(want, keeper.Excerpts(), exported, cmpopts.EquateEmpty()); d != "" {
				t.Errorf("seed %d, batches of %d: excerpts (-want +got):\n%.3000s", seed, batch, d)
			}
			if d := cmp.Diff(sums, talk.Clone(), exported); d != "" {
				t.Errorf("seed %d, batches of %d: sums (-want +got):\n%.3000s", seed, batch, d)
			}
		}
	}
}

// Beside each finding in a frame stands the good frame of its sender that is nearest: of its length where there is one.
func TestFindingsHaveTheNearestGoodFrame(t *testing.T) {
	t.Parallel()
	compared := 0
	for seed := range uint64(12) {
		w, p := struck(seed, 50, 10+int(seed))
		keeper, _, frames := collect(t, w, p, 512)
		list := keeper.Excerpts()
		for i := range list {
			e := &list[i]
			if e.Good || len(e.Frames) == 0 {
				continue
			}
			at := &e.Frames[len(e.Frames)-1]
			want, exact := nearest(frames, at)
			if e.Like == 0 {
				if want >= 0 {
					t.Errorf("seed %d: nothing beside %s at %d", seed, e.What, at.At)
				}
				continue
			}
			good := &list[e.Like-1]
			got := &good.Frames[len(good.Frames)-1]
			if !good.Good || !got.OK() || got.Side != at.Side || exact != (len(got.Values) == len(at.Values)) || abs(got.At-at.At) != want {
				t.Errorf("seed %d: beside %s at %d of %d characters stands %+v, the nearest is %d away", seed, e.What, at.At, len(at.Values), got, want)
			}
			compared++
		}
	}
	if compared < 40 {
		t.Errorf("%d findings were compared", compared)
	}
}

// nearest is how far the nearest good frame of a frame's sender is, of its length (exact) where there is one; -1: none.
func nearest(all []link.Frame, f *link.Frame) (apart capture.Tick, exact bool) {
	apart = -1
	for i := range all {
		o := &all[i]
		if !o.OK() || o.Side != f.Side || o.At == f.At {
			continue
		}
		like := len(o.Values) == len(f.Values)
		if apart < 0 || like && !exact || like == exact && abs(o.At-f.At) < apart {
			apart, exact = abs(o.At-f.At), like
		}
	}
	return apart, exact
}

func abs(t capture.Tick) capture.Tick { return max(t, -t) }
