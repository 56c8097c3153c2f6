package tally_test

import (
	"testing"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/link"
	"linewitness/decode/tally"
	"linewitness/decode/uart"
)

// However much is bad, what is kept is bounded, copied, and holds the transitions around what was found.
func TestKeeperIsBounded(t *testing.T) {
	t.Parallel()
	k := tally.NewKeeper(100, 1000)
	for n := range 200 {
		base := capture.Tick(n * 1e6)
		b := &burst.Batch{}
		var frames []link.Frame
		var glitches []uart.Glitch
		for i := range 50 {
			at := base + capture.Tick(i*10000)
			b.At = append(b.At, at, at+100)
			b.To = append(b.To, capture.Low, capture.High)
			why := link.Why(0)
			if i%2 == 1 {
				why = link.Why(1 + (n*50+i)%31)
			}
			frames = append(frames, link.Frame{At: at, End: at + 1000, Why: why, Poll: i%2 == 0, Turnaround: -1,
				Values: []uint16{uint16(i)}, Chars: []uart.Character{{At: at, End: at + 1000}}})
			glitches = append(glitches, uart.Glitch{At: at + 50, Width: 3})
		}
		k.Take(b, frames, glitches)
		for i := range frames {
			frames[i].Values[0] = 0xFFFF // what is kept must be a copy
		}
	}
	all := k.Excerpts()
	found := 0
	for _, e := range all {
		if !e.Good {
			found++
		}
	}
	if found == 0 || found > 64 || len(all)-found > found {
		t.Fatalf("%d excerpts around findings, %d good ones", found, len(all)-found)
	}
	for i, e := range all {
		if len(e.Line.At) == 0 || len(e.Line.At) != len(e.Line.To) {
			t.Errorf("excerpt %d, %s: %d transitions", i, e.What, len(e.Line.At))
		}
		for _, at := range e.Line.At {
			if at < e.From || at > e.To {
				t.Errorf("excerpt %d: transition %d outside [%d, %d]", i, at, e.From, e.To)
			}
		}
		for _, f := range e.Frames {
			if f.Values[0] == 0xFFFF {
				t.Errorf("excerpt %d aliases its source", i)
			}
		}
		if i > 0 && all[i-1].Good && !e.Good {
			t.Errorf("excerpt %d: findings come before good traffic", i)
		}
	}
}
