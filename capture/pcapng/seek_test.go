package pcapng_test

import (
	"bytes"
	"slices"
	"testing"

	"linewitness/capture"
	"linewitness/capture/pcapng"
)

// A recording may begin before its zero: damage there costs what it hits, no more.
func TestDamageBeforeZero(t *testing.T) {
	t.Parallel()
	l := rBegin(rMeta(), 0)
	for i := range capture.Tick(6) {
		l.block(t, &capture.Block{Start: i*10 - 40, End: i*10 - 30, First: capture.Low})
	}
	l.end()
	l.data[l.blocks[0].at+60]++
	got := rRead(t, l.data)
	if len(got.blocks) < 5 {
		t.Error("good blocks dropped")
	}
}

// Where the block at the instant is damaged, nothing from before it is called lost.
func TestDamageAtTheInstant(t *testing.T) {
	t.Parallel()
	l := rBegin(rMeta(), 0)
	for i := range capture.Tick(8) {
		b := &capture.Block{Start: i*100 + 10, End: i*100 + 100, First: capture.Low}
		if i > 0 {
			b.Gap = capture.Gap{From: i * 100, To: b.Start, Count: 2, Why: capture.GapPaused}
		} else {
			b.Start = 0
		}
		l.block(t, b)
	}
	l.end()
	data := slices.Clone(l.data)
	data[l.blocks[4].at+60]++
	for _, from := range []capture.Tick{350, 405, 410, 450, 505, 600} {
		r, err := pcapng.OpenAt(bytes.NewReader(data), int64(len(data)), "x", from)
		if err != nil {
			t.Fatal(err)
		}
		got := rDrain(t, r)
		if g := got.blocks[0].Gap; g.Present() && g.From < 300 {
			t.Errorf("from %d: gap %+v", from, g)
		}
	}
}

// A lost note takes nothing from the pause behind it.
func TestNoteLostBeforePause(t *testing.T) {
	t.Parallel()
	l := rBegin(rMeta(), 0)
	l.block(t, &capture.Block{Start: 0, End: 10, First: capture.Low})
	l.note(10, "paused for lunch")
	l.block(t, &capture.Block{Start: 20, End: 30, First: capture.Low, Gap: capture.Gap{From: 10, To: 20, Count: 3, Why: capture.GapPaused}})
	l.end()
	l.data[l.places[1][0]+70]++
	got := rRead(t, l.data)
	if want := (capture.Gap{From: 10, To: 20, Count: 3, Why: capture.GapPaused}); len(got.blocks) != 2 || got.blocks[1].Gap != want {
		t.Errorf("got %+v", got.blocks)
	}
}

// A packet whose damaged length reaches into the next one does not take that one along.
func TestNeighbourSurvives(t *testing.T) {
	t.Parallel()
	for n := range 40 {
		l := rBegin(rMeta(), 0)
		lv := []capture.Level{capture.High, capture.Low}
		for i := range capture.Tick(4) {
			b := &capture.Block{Start: i * 10000, End: i*10000 + 10000, First: capture.Low}
			k := n
			if i == 2 {
				k = n + 8
			}
			for j := range k &^ 1 {
				b.At, b.To = append(b.At, b.Start+capture.Tick(j*j+1)), append(b.To, lv[j&1])
			}
			l.block(t, b)
		}
		l.end()
		for bit := range 8 {
			data := slices.Clone(l.data)
			data[l.blocks[1].at+4] ^= 1 << bit
			got := rRead(t, data)
			if g := l.given(t, got); !slices.Contains(g, 2) {
				t.Errorf("n=%d: flip bit %d of block 1's length: given %v", n, bit, g)
			}
		}
	}
}
