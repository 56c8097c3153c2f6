package compare_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/decode/compare"
)

var ends = compare.Ends{First: capture.Indoor, Second: capture.Outdoor}

// Whatever becomes of frames at either end is counted as what it is, sender by sender.
func TestFatesComeBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := source(rapid.Uint64().Draw(t, "seed"))
		all := talk{polls: rapid.IntRange(100, 300).Draw(t, "polls"), period: 0.3, waver: 3e-3,
			contents: rapid.SampledFrom([]int{1, 256}).Draw(t, "contents")}.events(r)
		bad := rapid.Float64Range(0, 0.4).Draw(t, "bad")
		fates := make([][2]heard, len(all))
		for i := 4; i < len(all)-4; i++ { // the outermost are whole, so that all others lie between frames that both show
			if r.Float64() < bad {
				fates[i] = [][2]heard{{whole, damaged}, {whole, missing}, {damaged, whole}, {missing, whole}, {damaged, damaged}, {wrong, wrong},
					{damaged, missing}, {missing, damaged}, {missing, missing}}[r.IntN(9)]
			}
		}
		end := all[len(all)-1].at + 0.2
		a := probe{to: end, noise: 5e-6, hears: func(i int, _ event) heard { return fates[i][0] }}.record(all, r)
		b := probe{to: end, zero: -50, drift: 70e-6, noise: 5e-6, hears: func(i int, _ event) heard { return fates[i][1] }}.record(all, r)
		al := compare.Align(a, b)
		if !al.Sure() {
			t.Fatalf("%+v", al)
		}
		want := &compare.Losses{Senders: []compare.Sender{{Side: capture.Indoor}, {Side: capture.Outdoor}}}
		for i, e := range all {
			s := &want.Senders[0]
			if e.side == capture.Outdoor {
				s = &want.Senders[1]
			}
			x, y := fates[i][0], fates[i][1]
			switch {
			case x == whole && y == whole:
				s.Whole++
			case x == whole:
				s.FirstOnly.N++
				if y == missing {
					s.FirstOnly.Missing++
				}
			case y == whole:
				s.SecondOnly.N++
				if x == missing {
					s.SecondOnly.Missing++
				}
			case x == wrong:
				s.Alike.N++
			case x == damaged && y == damaged:
				s.Unalike.N++
			case x == damaged:
				want.First++
			case y == damaged:
				want.Second++
			}
		}
		got := compare.LossesOf(a, b, al, ends)
		if diff := cmp.Diff(want, got, cmpopts.IgnoreFields(compare.Losses{}, "Seconds", "Polls"),
			cmpopts.IgnoreFields(compare.Events{}, "Episodes", "Clean", "At"), cmpopts.IgnoreUnexported(compare.Events{})); diff != "" {
			t.Errorf("(-want +got)\n%s", diff)
		}
		checkPolls(t, got.Polls, all, fates)
	})
}

// checkPolls counts polls whole at the outdoor end, and those of them followed by nothing at either.
func checkPolls(t *rapid.T, got compare.Polls, all []event, fates [][2]heard) {
	heardThere, unanswered, lost := 0, 0, 0
	for i := 0; i+2 < len(all); i += 2 {
		switch {
		case fates[i][1] == whole:
			heardThere++
			if fates[i+1] == [2]heard{missing, missing} && (fates[i+2][0] == whole || fates[i+2][1] == whole) {
				unanswered++
			}
		case fates[i][0] == whole:
			lost++
		}
	}
	if got.By != capture.Indoor || got.Lost != lost || got.Unanswered.N < unanswered || got.Heard > heardThere+1 {
		t.Errorf("polls %+v, want %d heard, %d or more unanswered, %d lost", got, heardThere, unanswered, lost)
	}
}

// Times stand on each file's own axis; runs of losses are one episode; what a lost interval hides is not counted.
func TestLossesInTime(t *testing.T) {
	t.Parallel()
	r := source(8)
	all := talk{polls: 100, period: 0.3, waver: 2e-3, contents: 1 << 20}.events(r)
	lost := map[int]heard{40: missing, 42: damaged, 60: missing, 120: missing}
	a := probe{to: 40}.record(all, r)
	b := probe{to: 40, zero: 1000, hears: func(i int, _ event) heard { return lost[i] }}.record(all, r)
	b.Gaps = []compare.Span{{From: nano.Ticks(1000 + all[120].at - 0.01), To: nano.Ticks(1000 + all[120].at + 0.05)}}
	got := compare.LossesOf(a, b, compare.Align(a, b), ends)
	s := got.Senders[0]
	if s.FirstOnly.N != 3 || s.FirstOnly.Missing != 2 || s.FirstOnly.Episodes != 2 || s.Whole != 96 {
		t.Fatalf("%+v", s)
	}
	if at := s.FirstOnly.At[0]; at.First != a.Frames[40].At || abs(at.Second-at.First-nano.Ticks(1000)) > 1000 {
		t.Errorf("at %+v, want %d and 1000 s later", at, a.Frames[40].At)
	}
	share, known := got.Lost(&s, ends)
	if !known || share.K != 3 || share.N != 99 || share.Low < 0.006 || share.High > 0.087 {
		t.Errorf("lost %+v", share)
	}
	if back, known := got.Lost(&s, compare.Ends{First: capture.Outdoor, Second: capture.Indoor}); !known || back.K != 0 {
		t.Errorf("the other way round: lost %+v", back)
	}
	if _, known := got.Lost(&s, compare.Ends{}); known {
		t.Error("known without ends")
	}
}

func abs(t capture.Tick) capture.Tick { return max(t, -t) }

// What is concluded, by what becomes of every tenth frame of the outdoor unit (o) or the indoor one (i).
func TestConclude(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name     string
		who      string // whose frames
		a, b     heard
		between  compare.Between
		own      string // sides whose own damage is shown
		silent   bool
		atSecond bool
	}{
		{"sound", "", whole, whole, compare.NotSeen, "", false, false},
		{"lost on the way in", "o", damaged, whole, compare.Shown, "", false, false},
		{"lost on the way out", "i", whole, missing, compare.Shown, "", false, false},
		{"both ways at one end", "io", whole, damaged, compare.OneEnd, "", false, true},
		{"wrong sums", "o", wrong, wrong, compare.NotSeen, "outdoor", false, false},
		{"both ends at once", "io", damaged, damaged, compare.Mixed, "", false, false},
		{"silent", "o", missing, missing, compare.NotSeen, "", true, false},
	} {
		r := source(9)
		all := talk{polls: 200, period: 0.3, waver: 2e-3, contents: 1 << 20}.events(r)
		fate := func(other heard) func(int, event) heard {
			return func(i int, e event) heard {
				if i > 4 && i < 390 && i/2%10 == 3 && strings.Contains(c.who, e.side.String()[:1]) {
					return other
				}
				return whole
			}
		}
		a := probe{to: 70, hears: fate(c.a)}.record(all, r)
		b := probe{to: 70, hears: fate(c.b)}.record(all, r)
		l := compare.LossesOf(a, b, compare.Align(a, b), ends)
		got := compare.Conclude(l, ends)
		own := ""
		for _, o := range got.Own {
			if o.Shown {
				own += o.Side.String()
			}
		}
		if got.Between != c.between || own != c.own || got.Polls.Shown != c.silent || got.Between == compare.OneEnd && got.First == c.atSecond {
			t.Errorf("%s: %+v", c.name, got)
		}
		if c.silent && (got.Silent != capture.Outdoor || got.Polls.Share.K != 20) {
			t.Errorf("%s: %v %+v", c.name, got.Silent, got.Polls)
		}
	}
}

// A line that stands open between the taps: the feeding end's probe and the other see opposite spaces at the same instants.
func TestOpenBetween(t *testing.T) {
	t.Parallel()
	r := source(10)
	all := talk{polls: 100, period: 0.3, waver: 2e-3, contents: 1 << 20}.events(r)
	open := func(i int, _ event) heard {
		if i > 3 && i < 190 && i%20 == 0 {
			return damaged
		}
		return whole
	}
	a, b := probe{to: 40, hears: open}.record(all, r), probe{to: 40, hears: open}.record(all, r)
	a.Mid, b.Mid = true, true
	for i := range a.Frames {
		a.Frames[i].Space, b.Frames[i].Space = capture.Low, capture.Low
		if !a.Frames[i].Whole() {
			a.Frames[i].Space = capture.High
		}
	}
	l := compare.LossesOf(a, b, compare.Align(a, b), ends)
	if got := compare.Conclude(l, ends); l.Opposed.N != 9 || got.Between != compare.Shown {
		t.Errorf("%+v, %+v", l.Opposed, got)
	}
}
