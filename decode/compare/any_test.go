package compare_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/decode/compare"
	"linewitness/decode/link"
)

// drawn is any recording that a decoder may hand over: frames in order that may touch, be cut or have no side, on any clock.
func drawn(t *rapid.T, name string) *compare.Recording {
	r := &compare.Recording{Clock: capture.Clock{Num: rapid.SampledFrom([]int64{1, 48000 * 1024, 1e9}).Draw(t, name+" clock"), Den: 1},
		Bit: rapid.SampledFrom([]float64{0, 1e-5, 1e-3}).Draw(t, name+" bit"), Mid: rapid.Bool().Draw(t, name+" mid")}
	at := capture.Tick(rapid.Int64Range(-1e12, 1e12).Draw(t, name+" from"))
	r.From = at
	for range rapid.IntRange(0, 60).Draw(t, name+" frames") {
		at += capture.Tick(rapid.Int64Range(0, 3).Draw(t, "rest")) * rapid.SampledFrom([]capture.Tick{1, 1e6}).Draw(t, "unit")
		f := compare.Frame{At: at, Hash: rapid.Uint64Range(0, 3).Draw(t, "hash"), Side: capture.Side(rapid.IntRange(0, 6).Draw(t, "side")),
			Why: link.Why(rapid.SampledFrom([]int{0, 0, 0, 1, 32, 64}).Draw(t, "why")), Poll: rapid.Bool().Draw(t, "poll"),
			Space: capture.Level(rapid.IntRange(0, 3).Draw(t, "space"))}
		at += capture.Tick(rapid.Int64Range(0, 2e6).Draw(t, "long"))
		f.End = at
		r.Frames = append(r.Frames, f)
		if rapid.IntRange(0, 9).Draw(t, "gap") == 0 {
			r.Gaps = append(r.Gaps, compare.Span{From: at, To: at + 1000})
			at += 1000
		}
	}
	r.To = at + 1
	return r
}

// No recordings, however odd, are the end of it, and no frame is counted twice.
func TestAnyRecordings(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawn(t, "a"), drawn(t, "b")
		if rapid.Bool().Draw(t, "same") {
			b.Frames, b.Clock, b.From, b.To = slices.Clone(a.Frames), a.Clock, a.From, a.To
		}
		al := compare.Align(a, b)
		if !al.Aligned {
			if al.Why == "" {
				t.Errorf("%+v", al)
			}
			return
		}
		l := compare.LossesOf(a, b, al, ends)
		n := l.First + l.Second + l.Opposed.N
		for _, s := range l.Senders {
			n += 2*s.Whole + s.FirstOnly.N + s.SecondOnly.N + s.Alike.N + s.Unalike.N
		}
		if n > len(a.Frames)+len(b.Frames) {
			t.Errorf("%d of %d and %d frames: %+v", n, len(a.Frames), len(b.Frames), l)
		}
		if x := compare.Conclude(l, ends); x.Share.K > x.Share.N || math.IsNaN(x.Share.High) {
			t.Errorf("%+v", x)
		}
	})
}

// Units that sleep for ten minutes, a clock that wanders by 2 ppm with the day's heat, polls that are all alike: still one
// conversation, frame by frame.
func TestSleepAndWander(t *testing.T) {
	t.Parallel()
	r := source(21)
	var all []event
	for k := range 6 {
		part := talk{polls: 400, period: 0.3, waver: 4e-3, contents: 1}.events(r)
		for _, e := range part {
			e.at += float64(k) * 720
			all = append(all, e)
		}
	}
	a := probe{to: 4400, noise: 5e-6}.record(all, r)
	b := probe{to: 4400, zero: 33, noise: 5e-6, drift: 60e-6}.record(all, r)
	for i := range b.Frames {
		f := &b.Frames[i]
		off := nano.Ticks(2e-6 * 4400 / (2 * math.Pi) * math.Sin(2*math.Pi*nano.Seconds(f.At)/4400))
		f.At, f.End = f.At+off, f.End+off
	}
	al := compare.Align(a, b)
	if !al.Sure() || al.Matched != len(a.Frames) {
		t.Fatalf("matched %d of %d: %s", al.Matched, len(a.Frames), al.Why)
	}
	for i := range a.Frames {
		if got, want := al.Axis.Second(nano.Seconds(a.Frames[i].At)), nano.Seconds(b.Frames[i].At); math.Abs(got-want) > 1e-9 {
			t.Fatalf("frame %d: %.9f, want %.9f", i, got, want)
		}
	}
	if l := al.Line; math.Abs(l.Drift-60e-6) > 5*l.DriftErr || l.DriftErr < 0.05e-6 {
		t.Errorf("drift %.3f ± %.3f ppm, want 60 with an error that knows of the wandering", 1e6*l.Drift, 1e6*l.DriftErr)
	}
}
