package decode_test

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/cause"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/validate"
)

func linkGain(t *testing.T, f *decode.Finding) *validate.Fact {
	t.Helper()
	for i := range f.Facts {
		if f.Facts[i].ID == "structure.link-gain" {
			return &f.Facts[i]
		}
	}
	return nil
}

// Whether another link fits better is told by what either proves: the right one is not doubted, damaged frames prove none, and what was
// learned has nothing to be compared with.
func TestOtherLinks(t *testing.T) {
	t.Parallel()
	sent := func() capture.Source { return (&talk{seed: 3, polls: 60}).wire().Source(512) }
	right := heron(t)
	f := examine(t, sent(), right, decode.Options{Tap: capture.LoopCurrent})
	if g := linkGain(t, f); g == nil || !g.Measured() || g.Value > -8*100 || g.P != 1 || g.N < 100 {
		t.Errorf("its own link: %+v", g)
	}
	for name, change := range map[string]func(p *link.Profile){
		"another checksum": func(p *link.Profile) { p.Checksum.To, p.Checksum.From = -1, 1 },
		"another format":   func(p *link.Profile) { p.Line.Format = uart.Format{DataBits: 8, StopHalfs: 4} },
		"another speed":    func(p *link.Profile) { p.Line.Speed = 2400 },
	} {
		wrong := heron(t)
		change(wrong)
		f := examine(t, sent(), wrong, decode.Options{Tap: capture.LoopCurrent})
		g := linkGain(t, f)
		if g == nil || !g.Measured() || !(g.Value > 200) || !(g.P < 1e-9) {
			t.Errorf("%s: %+v", name, g)
			continue
		}
		odds := map[cause.Cause]float64{}
		for _, c := range f.Candidates {
			odds[c.Cause] += c.Probability
		}
		if odds[cause.WrongLink] < 0.3 {
			t.Errorf("%s: a wrong link has %.3f; %s", name, odds[cause.WrongLink], f.Verdict.Summary)
		}
	}
	if g := linkGain(t, examine(t, sent(), nil, decode.Options{Tap: capture.LoopCurrent})); g != nil {
		t.Errorf("a learned link: %+v", g)
	}
	none := heron(t)
	none.Checksum, none.NoChecksum = nil, true
	if g := linkGain(t, examine(t, sent(), none, decode.Options{Tap: capture.LoopCurrent})); g == nil || g.Measured() || !math.IsNaN(g.Value) {
		t.Errorf("no checksum: %+v", g)
	}
	short := (&talk{seed: 3, polls: 1}).wire()
	if g := linkGain(t, examine(t, short.Source(512), heron(t), decode.Options{Tap: capture.LoopCurrent})); g == nil || g.Measured() {
		t.Errorf("one poll: %+v", g)
	}
}

// How the recording was cut into blocks makes no other fact.
func TestOtherLinkWhateverTheBlocks(t *testing.T) {
	t.Parallel()
	wrong := heron(t)
	wrong.Line.Speed = 2400
	var want float64
	for i, size := range []int{1, 7, 100, 100_000} {
		f := examine(t, (&talk{seed: 4, polls: 400}).wire().Source(size), wrong, decode.Options{Tap: capture.LoopCurrent})
		g := linkGain(t, f)
		if g == nil || !g.Measured() {
			t.Fatalf("%d: %+v", size, g)
		}
		if i == 0 {
			want = g.Value
		}
		if g.Value != want || !(want > 0) {
			t.Errorf("blocks of %d transitions: %v bits, want %v", size, g.Value, want)
		}
	}
}
