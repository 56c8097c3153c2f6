package validate_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/validate"
)

// wren is an invented link: polls every 400 ms, replies after 10 to 60 ms, repetitions 180 ms after a poll's end, a count
// of four bits in either's frames. Frames: kind, count, address, value.
func wren() *link.Profile {
	count := func() []link.Field {
		return []link.Field{{Name: "sequence", At: 1, Octets: 1, Bits: 4, Scale: 1, Counter: true}}
	}
	kind := func(name string, from capture.Side, head byte) link.Shape {
		return link.Shape{Name: name, From: from, Length: 4, Match: []link.Match{{At: 0, Mask: 0xFF, Value: head}}, Fields: count()}
	}
	p := &link.Profile{Name: "Wren", Kind: link.Loop3, Line: uart.Line{Speed: 1200}, Controller: capture.Indoor, Responder: capture.Outdoor}
	p.Timing = link.Timing{PollPeriod: 0.4, TurnaroundMin: 0.01, TurnaroundMax: 0.06, TwoTalkers: true, Retries: 2, RetryAfter: 0.18,
		SlowPeriod: 4, SlowAfter: 12, FaultAfter: 90}
	p.Address = &link.Address{At: 2, Names: []link.Unit{{Value: 0x11, Name: "one", Side: capture.Outdoor},
		{Value: 0x12, Name: "two", Side: capture.Outdoor}}}
	p.Shapes = []link.Shape{kind("ask", capture.Indoor, 0xA0), kind("state", capture.Outdoor, 0x50), kind("log", capture.Outdoor, 0x51),
		kind("first state", capture.Outdoor, 0x5F), kind("first ask", capture.Indoor, 0xAF)}
	p.Shapes[0].Answers = []string{"state"}
	p.Shapes[3].Start, p.Shapes[4].Start = true, true
	return p
}

// uncounted is wren without counters.
func uncounted() *link.Profile {
	p := wren()
	for i := range p.Shapes {
		p.Shapes[i].Fields = nil
	}
	return p
}

// levelled is wren at a tap where levels name the sender: the outdoor unit feeds, and opens to low.
func levelled() *link.Profile {
	p := wren()
	p.Line.Mid, p.Feed = true, capture.Outdoor
	return p
}

const (
	pollMS  = 40 // lengths of frames
	replyMS = 30
)

// scene stages a dialogue; times in ms.
type scene struct {
	p                 *link.Profile
	frames            []link.Frame
	polls, replies    byte // counts
	at                float64
	ended             float64 // of the last poll
	pollFrom, pollVal byte
}

func stage(p *link.Profile) *scene { return &scene{p: p, pollFrom: 0x11, pollVal: 7} }

func tick(ms float64) capture.Tick { return capture.Tick(math.Round(ms * 100)) }

func (s *scene) put(at, length float64, side capture.Side, why link.Why, octets ...byte) *link.Frame {
	r := link.Frame{At: tick(at), End: tick(at + length), Why: why, Octets: octets, Turnaround: -1, Space: capture.Low}
	if side == s.p.Controller {
		r.Space = capture.High
	}
	for _, b := range octets {
		r.Values = append(r.Values, uint16(b))
	}
	r.Shape = s.p.ShapeOf(octets, capture.SideUnknown)
	s.frames = append(s.frames, r)
	return &s.frames[len(s.frames)-1]
}

// poll sends one, so long after the one before began.
func (s *scene) poll(after float64) *link.Frame {
	s.at += after
	s.ended = s.at + pollMS
	return s.put(s.at, pollMS, s.p.Controller, 0, 0xA0, s.polls&0xF, s.pollFrom, s.pollVal)
}

func (s *scene) reply(wait float64) *link.Frame {
	s.replies++
	return s.put(s.ended+wait, replyMS, s.p.Responder, 0, 0x50, s.replies&0xF, s.pollFrom, 9)
}

// sound goes on with so many polls and replies.
func (s *scene) sound(n int) *scene {
	for range n {
		s.polls++
		s.poll(400)
		s.reply(20)
	}
	return s
}

func (s *scene) facts() *validate.Facts {
	f := validate.NewFold(s.p, capture.Clock{Num: 100000, Den: 1})
	slices.SortStableFunc(s.frames, func(a, b link.Frame) int { return int(a.At - b.At) })
	end := capture.Tick(0)
	for _, r := range s.frames {
		f.Add(&r, &validate.Quality{Bias: math.NaN()})
		end = max(end, r.End)
	}
	f.Finish(end + tick(100))
	return &f.Facts
}

// counted lists what happened at all, with its instants in ms, and of how many.
func counted(f *validate.Facts) map[string]string {
	d := &f.Dialogue
	got := map[string]string{}
	for name, c := range map[string]*validate.Count{
		"unasked": &d.Unasked, "doubled": &d.Doubled, "foreign": &d.Foreign, "wrong answer": &d.WrongAnswer, "early": &d.Early,
		"repeated": &d.Repeated, "ignored": &d.Ignored, "interleaved": &d.Interleaved, "elsewhere": &d.Elsewhere, "overlaps": &d.Overlaps,
		"slow": &d.Slow, "silences": &d.Silences, "starts 0": &d.Starts[0].Count, "starts 1": &d.Starts[1].Count,
		"resets 0": &d.Resets[0].Count, "resets 1": &d.Resets[1].Count, "faults 0": &d.Faults[0], "faults 1": &d.Faults[1],
	} {
		if c.N > 0 {
			at := []int{}
			for _, t := range c.At {
				at = append(at, int(math.Round(float64(t)/100)))
			}
			got[name] = fmt.Sprintf("%d of %d at %v", c.N, c.Of, at)
		}
	}
	return got
}

func TestDialogueFacts(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		p    *link.Profile
		play func(s *scene)
		want map[string]string
	}{
		{"sound", wren(), func(s *scene) { s.sound(40) }, nil},
		{"sound, no counters", uncounted(), func(s *scene) { s.sound(40) }, nil},
		{"sound, with levels", levelled(), func(s *scene) { s.sound(40) }, nil},
		{"a reply missing, its poll sent again", wren(), func(s *scene) {
			s.sound(5)
			s.polls++
			s.poll(400)
			s.poll(220)
			s.reply(20)
			s.at -= 220
			s.sound(5)
		}, map[string]string{"repeated": "1 of 1 at [2620]"}},
		{"a reply damaged, its poll sent again", wren(), func(s *scene) {
			s.sound(5)
			s.polls++
			s.poll(400)
			s.reply(20).Why = link.WhyParity
			s.poll(220)
			s.reply(20)
			s.at -= 220
			s.sound(5)
		}, map[string]string{"repeated": "1 of 1 at [2620]"}},
		{"good replies, polls sent again by their count", wren(), func(s *scene) {
			s.sound(5)
			s.poll(220)
			s.reply(20)
			s.poll(220)
			s.reply(20)
			s.sound(5)
		}, map[string]string{"ignored": "2 of 11 at [2220 2440]"}},
		{"good replies, polls sent again by time, with a count that goes on", wren(), func(s *scene) {
			s.sound(5)
			s.polls++
			s.poll(220)
			s.reply(20)
			s.sound(5)
		}, map[string]string{"ignored": "1 of 10 at [2220]"}},
		{"good replies, polls sent again by time, without a count", uncounted(), func(s *scene) {
			s.sound(5)
			s.poll(220)
			s.reply(20)
			s.poll(220)
			s.reply(20)
			s.sound(5)
		}, map[string]string{"ignored": "1 of 9 at [2220]"}},
		{"a poll soon after a repetition only makes up for its time", wren(), func(s *scene) {
			s.sound(5)
			s.polls++
			s.poll(400)
			s.poll(220)
			s.reply(20)
			s.polls++
			s.poll(210)
			s.reply(20)
			s.sound(5)
		}, map[string]string{"repeated": "1 of 1 at [2620]"}},
		{"a count that always stands proves nothing", wren(), func(s *scene) {
			for range 20 {
				s.poll(400)
				s.reply(20)
			}
		}, nil},
		{"another's count in between is no repetition", wren(), func(s *scene) {
			s.sound(5)
			s.polls += 9
			s.poll(220)
			s.reply(20)
			s.polls -= 9
			s.at -= 220
			s.sound(5)
		}, map[string]string{"interleaved": "1 of 9 at [2400]"}},
		{"two schedules", uncounted(), func(s *scene) {
			for n := range 6 {
				s.poll(100)
				s.reply(20)
				s.pollVal = byte(n)
				s.poll(300)
				s.reply(20)
			}
		}, map[string]string{"interleaved": "10 of 10 at [500 800 900 1200 1300 1600 1700 2000 2100 2400]"}},
		{"two schedules that look like repetitions", uncounted(), func(s *scene) {
			for range 3 {
				s.poll(180)
				s.reply(20)
				s.poll(220)
				s.reply(20)
			}
		}, map[string]string{"ignored": "3 of 3 at [400 800 1200]", "interleaved": "4 of 4 at [580 800 980 1200]"}},
		{"an early reply", wren(), func(s *scene) {
			s.sound(5)
			s.polls++
			s.poll(400)
			s.reply(2)
			s.sound(5)
		}, map[string]string{"early": "1 of 11 at [2442]"}},
		{"a reply of another kind", wren(), func(s *scene) {
			s.sound(5)
			s.polls++
			s.poll(400)
			s.put(s.ended+20, replyMS, capture.Outdoor, 0, 0x51, 1, 0x11, 9)
			s.sound(5)
		}, map[string]string{"wrong answer": "1 of 11 at [2460]"}},
		{"a reply from another address", wren(), func(s *scene) {
			s.sound(5)
			s.polls++
			s.poll(400)
			s.put(s.ended+20, replyMS, capture.Outdoor, 0, 0x50, 6, 0x12, 9)
			s.replies++
			s.sound(5)
		}, map[string]string{"foreign": "1 of 11 at [2460]"}},
		{"two replies to one poll", wren(), func(s *scene) {
			s.sound(5)
			s.replies--
			s.reply(80)
			s.sound(5)
		}, map[string]string{"doubled": "1 of 10 at [2120]"}},
		{"a third reply to one poll", wren(), func(s *scene) {
			s.sound(5)
			s.replies--
			s.reply(80)
			s.replies--
			s.reply(150)
			s.sound(5)
		}, map[string]string{"doubled": "1 of 10 at [2120]", "unasked": "1 of 12 at [2190]"}},
		{"a reply so late that its poll came again is no second one", wren(), func(s *scene) {
			s.sound(5)
			s.polls++
			s.poll(400)
			s.poll(220)
			s.reply(20)
			s.reply(80)
			s.at -= 220
			s.sound(5)
		}, map[string]string{"repeated": "1 of 1 at [2620]"}},
		{"a poll while a reply is due", wren(), func(s *scene) {
			s.sound(5)
			s.polls++
			s.poll(400)
			s.put(s.ended+10, pollMS, capture.Indoor, 0, 0xA0, s.polls+7, 0x11, 1)
			s.ended += 50
			s.reply(20)
			s.sound(5)
		}, map[string]string{"overlaps": "1 of 22 at [2450]", "interleaved": "1 of 10 at [2800]"}},
		{"a poll inside a reply, told by levels", levelled(), func(s *scene) {
			s.sound(5)
			s.polls++
			s.poll(400)
			s.reply(20)
			s.put(s.ended+30, pollMS, capture.Indoor, link.WhyChecksum, 0xA0, s.polls+7, 0x11, 1)
			s.sound(5)
		}, map[string]string{"overlaps": "1 of 22 at [2470]", "interleaved": "1 of 10 at [2800]"}},
		{"a controller's frame at the responder's level", levelled(), func(s *scene) {
			s.sound(5)
			s.put(s.at+200, pollMS, capture.Outdoor, 0, 0xA0, 3, 0x11, 1)
			s.sound(5)
		}, map[string]string{"elsewhere": "1 of 11 at [2200]"}},
		{"the responder starts: a frame says so", wren(), func(s *scene) {
			s.sound(5)
			s.polls++
			s.poll(400)
			s.put(s.ended+20, replyMS, capture.Outdoor, 0, 0x5F, 0, 0x11, 9)
			s.replies = 0
			s.sound(5)
		}, map[string]string{"starts 1": "1 of 11 at [2460]"}},
		{"the responder starts, says so, and answers then", wren(), func(s *scene) {
			s.sound(5)
			s.polls++
			s.poll(400)
			s.put(s.ended+20, replyMS, capture.Outdoor, 0, 0x5F, 0, 0x11, 9)
			s.replies = 0
			s.reply(80)
			s.sound(5)
		}, map[string]string{"starts 1": "1 of 12 at [2460]"}},
		{"the responder starts, says so, and answers twice", wren(), func(s *scene) {
			s.sound(5)
			s.polls++
			s.poll(400)
			s.put(s.ended+20, replyMS, capture.Outdoor, 0, 0x5F, 0, 0x11, 9)
			s.replies = 0
			s.reply(80)
			s.replies--
			s.reply(150)
			s.sound(5)
		}, map[string]string{"starts 1": "1 of 13 at [2460]", "doubled": "1 of 11 at [2590]"}},
		{"the responder starts: its count says so", wren(), func(s *scene) {
			s.sound(5)
			s.replies = 0xFF
			s.sound(5)
		}, map[string]string{"resets 1": "1 of 9 at [2460]"}},
		{"the controller starts, and the replies give its count back", wren(), func(s *scene) {
			for n := range 10 {
				s.polls = byte(n % 6)
				s.poll(400)
				s.replies = s.polls - 1
				s.reply(20)
			}
		}, map[string]string{"resets 0": "1 of 9 at [2800]"}},
		{"a count that falls to 0 and goes on as before is no start", wren(), func(s *scene) {
			s.sound(5)
			s.replies = 0xFF
			s.sound(1)
			s.replies = 6
			s.sound(5)
		}, nil},
		{"a count that goes round is no start, a frame lost before", wren(), func(s *scene) {
			s.sound(14)
			s.polls++
			s.replies++
			s.at += 400
			s.sound(20)
		}, nil},
		{"slow polls after silence of the other side", wren(), func(s *scene) {
			s.sound(5)
			s.polls++
			s.poll(400)
			for range 3 {
				s.polls++
				s.poll(4000)
			}
			s.sound(5)
		}, map[string]string{"slow": "1 of 13 at [2400]"}},
		{"a long silence, and the other side's fault", wren(), func(s *scene) {
			s.sound(5)
			s.at += 100000
			s.sound(5)
		}, map[string]string{"silences": "1 of 20 at [2090]", "faults 0": "1 of 9 at [92040]", "faults 1": "1 of 9 at [92090]"}},
		{"a gap is no silence", wren(), func(s *scene) {
			s.sound(5)
			s.at += 100000
			n := len(s.frames)
			s.replies, s.polls = 0xFF, 0xFF
			s.sound(5)
			s.frames[n].Begins = true
		}, nil},
	} {
		s := stage(c.p)
		c.play(s)
		if c.want == nil {
			c.want = map[string]string{}
		}
		if d := cmp.Diff(c.want, counted(s.facts())); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
	}
}

// Slow pace in the middle of good replies is no more than that: units sleep.
func TestSlowPaceOfSleepingUnits(t *testing.T) {
	t.Parallel()
	s := stage(wren()).sound(5)
	for range 5 {
		s.polls++
		s.poll(4000)
		s.reply(20)
	}
	d := s.sound(5).facts().Dialogue
	if d.Slow.N != 1 || d.SlowAfterGood.N != 1 || d.Ignored.N != 0 || d.SlowSeconds != 20 || math.Abs(d.PaceSeconds-23.6) > 1e-9 {
		t.Errorf("slow %+v, after good %+v, ignored %d, %.1f of %.1f s", d.Slow, d.SlowAfterGood, d.Ignored.N, d.SlowSeconds, d.PaceSeconds)
	}
}

// What the profile does not say is not measured, rather than 0.
func TestNotMeasuredIsNotNone(t *testing.T) {
	t.Parallel()
	bare := twoTalkers()
	learned := levelled()
	learned.Learned = true
	noAddress := wren()
	noAddress.Address = nil
	unpaced := uncounted()
	unpaced.Timing.PollPeriod, unpaced.Timing.SlowPeriod, unpaced.Timing.TurnaroundMin, unpaced.Timing.FaultAfter = 0, 0, 0, 0
	all := func(d *validate.Dialogue) (s string) {
		for _, c := range []struct {
			letter string
			Count  *validate.Count
		}{{"U", &d.Unasked}, {"D", &d.Doubled}, {"F", &d.Foreign}, {"W", &d.WrongAnswer}, {"E", &d.Early}, {"R", &d.Repeated}, {"I", &d.Ignored},
			{"T", &d.Interleaved}, {"L", &d.Elsewhere}, {"O", &d.Overlaps}, {"P", &d.Slow}, {"S", &d.Silences}, {"a", &d.Starts[0].Count},
			{"b", &d.Starts[1].Count}, {"c", &d.Resets[0].Count}, {"d", &d.Resets[1].Count}, {"e", &d.Faults[0]}, {"f", &d.Faults[1]}} {
			if c.Count.Measured {
				s += c.letter
			}
		}
		return s
	}
	for _, c := range []struct {
		name string
		p    *link.Profile
		want string
	}{
		{"all", levelled(), "UDFWERITLOPSabcdef"},
		{"no levels", wren(), "UDFWERITOPSabcdef"},
		{"no kinds of frames", bare, ""},
		{"learned", learned, "S"},
		{"no address", noAddress, "UDWERITOPSabcdef"},
		{"no counters", uncounted(), "UDFWERITOPSabef"},
		{"no counters, no timing", unpaced, "UDFWOab"},
	} {
		f := validate.NewFold(c.p, capture.Nanoseconds)
		if got := all(&f.Dialogue); got != c.want {
			t.Errorf("%s: measured %q, want %q", c.name, got, c.want)
		}
	}
}

// A sound dialogue counts nothing, whatever its timing within the limits, its content and its length; retries after lost
// replies are counted as such.
func TestSoundDialogueCountsNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := stage(rapid.SampledFrom([]*link.Profile{wren(), uncounted(), levelled()}).Draw(t, "profile"))
		for range rapid.IntRange(2, 60).Draw(t, "polls") {
			s.polls++
			s.pollFrom, s.pollVal = rapid.SampledFrom([]byte{0x11, 0x12}).Draw(t, "address"), rapid.Byte().Draw(t, "value")
			s.poll(rapid.Float64Range(385, 415).Draw(t, "period"))
			if rapid.IntRange(0, 9).Draw(t, "lost") == 0 {
				s.poll(220 * rapid.Float64Range(0.95, 1.05).Draw(t, "retry"))
				s.reply(rapid.Float64Range(10, 60).Draw(t, "wait"))
				s.at -= 220
				continue
			}
			s.reply(rapid.Float64Range(10, 60).Draw(t, "wait"))
		}
		got := counted(s.facts())
		delete(got, "repeated")
		if len(got) > 0 {
			t.Fatalf("%v", got)
		}
	})
}

// Whatever stands on the line, no more happens than could, only the first instants are kept, and they ascend.
func TestAnyFramesAreFolded(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := stage(rapid.SampledFrom([]*link.Profile{wren(), uncounted(), levelled(), twoTalkers()}).Draw(t, "profile"))
		for range rapid.IntRange(0, 200).Draw(t, "frames") {
			s.at += rapid.SampledFrom([]float64{0, 1, 20, 50, 100, 180, 220, 360, 400, 4000, 50000, 200000}).Draw(t, "after")
			side := rapid.SampledFrom([]capture.Side{s.p.Controller, s.p.Responder}).Draw(t, "side")
			why := rapid.SampledFrom([]link.Why{0, 0, 0, 0, link.WhyChecksum, link.WhyParity, link.WhyUnframed, link.WhyCut}).Draw(t, "why")
			head := rapid.SampledFrom([]byte{0xA0, 0xA0, 0x50, 0x50, 0x51, 0x5F, 0xAF, 0x33}).Draw(t, "head")
			r := s.put(s.at, 30, side, why, head, rapid.Byte().Draw(t, "count"), rapid.SampledFrom([]byte{0x11, 0x12, 0x20}).Draw(t, "address"), 1)
			r.Begins = rapid.IntRange(0, 30).Draw(t, "begins") == 0
		}
		d := s.facts().Dialogue
		for i, c := range []*validate.Count{&d.Unasked, &d.Doubled, &d.Foreign, &d.WrongAnswer, &d.Early, &d.Repeated, &d.Ignored, &d.Interleaved,
			&d.Elsewhere, &d.Overlaps, &d.Slow, &d.Silences, &d.Starts[0].Count, &d.Starts[1].Count, &d.Resets[0].Count, &d.Resets[1].Count,
			&d.Faults[0], &d.Faults[1]} {
			if c.N > c.Of || !c.Measured && c.N > 0 || len(c.At) != int(min(c.N, validate.MostTimes)) || !slices.IsSorted(c.At) {
				t.Fatalf("fact %d: %+v", i, c)
			}
		}
		if d.SlowSeconds > d.PaceSeconds || d.Seconds < 0 || d.Longest > d.Seconds+0.1 {
			t.Fatalf("slow %g of %g s, longest %g of %g s", d.SlowSeconds, d.PaceSeconds, d.Longest, d.Seconds)
		}
	})
}

// Following a dialogue takes no memory.
func TestFollowingAllocatesNothing(t *testing.T) {
	s := stage(levelled()).sound(20)
	f := validate.NewFold(s.p, capture.Clock{Num: 100000, Den: 1})
	span := s.frames[len(s.frames)-2].At - s.frames[0].At + tick(400)
	round := capture.Tick(0)
	play := func() {
		for _, r := range s.frames {
			r.At, r.End = r.At+round*span, r.End+round*span
			f.Add(&r, &validate.Quality{Bias: math.NaN()})
		}
		round++
	}
	for range 200 { // fills the sketches
		play()
	}
	if n := testing.AllocsPerRun(50, play); n > 0 {
		t.Errorf("%g allocations in 40 frames", n)
	}
}

// Starts keep the silence before them.
func TestStartsKeepTheSilenceBefore(t *testing.T) {
	t.Parallel()
	s := stage(wren()).sound(5)
	s.polls = 0xFF
	s.at += 3600
	d := s.sound(5).facts().Dialogue
	if r := d.Resets[0]; r.N != 1 || len(r.Silence) != 1 || math.Abs(r.Silence[0]-3.96) > 1e-9 {
		t.Errorf("%+v", r)
	}
}

// Units that lose their mains together start together.
func TestStartsTogether(t *testing.T) {
	t.Parallel()
	s := stage(wren())
	for range 4 {
		s.sound(5)
		s.at += 3000
		s.put(s.at+300, pollMS, capture.Indoor, 0, 0xAF, 0, 0x11, 9)
		s.polls++
		s.poll(400)
		s.put(s.ended+20, replyMS, capture.Outdoor, 0, 0x5F, 0, 0x11, 9)
	}
	d := s.facts().Dialogue
	if d.Starts[0].N != 4 || d.Starts[1].N != 4 || d.Together.N != 4 {
		t.Errorf("%d and %d starts, %d together", d.Starts[0].N, d.Starts[1].N, d.Together.N)
	}
	alone := stage(wren()).sound(5)
	alone.replies = 0xFF
	if d := alone.sound(5).facts().Dialogue; d.Resets[1].N != 1 || d.Together.N != 0 {
		t.Errorf("%+v, %d together", d.Resets[1], d.Together.N)
	}
}
