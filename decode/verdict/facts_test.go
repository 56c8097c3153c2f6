package verdict

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// A fact with a test of its own speaks for what it is a sign of, once chance makes it in fewer than one case of a thousand, and for no one
// where it was not measured.
func TestTestedFactsSpeak(t *testing.T) {
	t.Parallel()
	given := func(facts ...validate.Fact) Input {
		f := &validate.Facts{TwoTalk: true, Answered: 40, Solicited: 60,
			Senders: []validate.Sender{{Side: capture.Indoor, Frames: 60, Good: 60}, {Side: capture.Outdoor, Frames: 45, Good: 40}}}
		f.Senders[1].Missing.N, f.Senders[1].Dirty.N = 15, 5
		nan := math.NaN()
		return Input{Facts: f, Tap: capture.LoopCurrent, Changes: 1000, Signals: []Signal{{nan, nan, nan}, {nan, nan, nan}}, List: facts}
	}
	bits := func(in Input, id string, k Key) (b float64, found bool) {
		for _, e := range Judge(in).Evidence {
			if e.ID == id {
				return e.Bits[k], true
			}
		}
		return 0, false
	}
	fact := func(id string, value float64, n int64, p float64) validate.Fact {
		return validate.Fact{ID: id, Side: capture.Line, Value: value, N: n, P: p}
	}
	line := func(c cause.Cause) Key { return Key{c, capture.Line} }
	for _, c := range []struct {
		name  string
		facts []validate.Fact
		id    string
		key   Key
		sign  int // of the bits; 0: the evidence is not there
	}{
		{"losses that bounce at both ends", []validate.Fact{fact("errors.bounce-both", 0.4, 20, 1e-12)}, "bounce", line(cause.IntermittentContact), 1},
		{"losses that never bounce", []validate.Fact{fact("errors.bounce-both", 0, 20, 1)}, "bounce", line(cause.IntermittentContact), -1},
		{"two losses", []validate.Fact{fact("errors.bounce-both", 1, 2, 1e-4)}, "bounce", line(cause.IntermittentContact), 0},
		{"another speed reads better", []validate.Fact{fact("structure.speed-gain", 400, 20, 1e-9), fact("structure.format-gain", -90, 20, 1)}, "other-speed",
			line(cause.SpeedMismatch), 1},
		{"another format reads better", []validate.Fact{fact("structure.format-gain", 400, 20, 1e-9)}, "other-format", line(cause.WrongLink), 1},
		{"no other reading", []validate.Fact{fact("structure.speed-gain", -400, 20, 1)}, "own-reading", line(cause.SpeedMismatch), -1},
		{"losses at a phase of the mains", []validate.Fact{fact("mains.losses-phase", 0.4, 30, 1e-8)}, "mains-phase", line(cause.MainsHum), 1},
		{"one in twenty", []validate.Fact{fact("mains.losses-phase", 0.4, 30, 0.04)}, "mains-phase", line(cause.MainsHum), 0},
		{"losses at load steps", []validate.Fact{fact("joined.losses-at-load-steps", 0.9, 12, 1e-6)}, "load-steps", line(cause.VoltageSag), 1},
		{"not measured", []validate.Fact{{ID: "mains.losses-phase", Side: capture.Line, P: math.NaN(), Unmeasured: "no mains"}}, "mains-phase", line(cause.MainsHum), 0},
	} {
		got, found := bits(given(c.facts...), c.id, c.key)
		if found != (c.sign != 0) || c.sign != 0 && math.Signbit(got) != (c.sign < 0) || c.sign != 0 && got == 0 {
			t.Errorf("%s: %s gives %v %v bits (found: %v)", c.name, c.id, c.key, got, found)
		}
	}
	learned := given(fact("structure.speed-gain", 400, 20, 1e-9))
	learned.Learned = true
	if _, found := bits(learned, "other-speed", line(cause.SpeedMismatch)); found {
		t.Error("a link that was learned from the recording is said to be read better otherwise")
	}
}
