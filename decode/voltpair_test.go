package decode_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/decode"
	"linewitness/decode/cause"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

// sampled makes samples of a function of time.
func sampled(rate int, seconds float64, noise float64, v func(t capture.Tick) float64) (capture.Info, *capture.Block) {
	l := capturetest.Loop{Rate: rate}
	r := rand.New(rand.NewPCG(5, 5))
	n := int(seconds * float64(rate))
	b := &capture.Block{End: capture.Tick(n) * 1024}
	for i := range n {
		t := capture.Tick(i) * 1024
		b.SampleAt, b.Volts = append(b.SampleAt, t), append(b.Volts, v(t)+noise*r.NormFloat64())
	}
	return l.Info(), b
}

// levelAt gives a block's level at rising instants.
func levelAt(b *capture.Block) func(capture.Tick) capture.Level {
	i := 0
	return func(t capture.Tick) capture.Level {
		for i < len(b.At) && b.At[i] <= t {
			i++
		}
		if i == 0 {
			return b.First
		}
		return b.To[i-1]
	}
}

// pairVolts is a bus of two conductors in volts (TIA-485-A: 1.5 to 6 V driven, over 200 mV idle): poll and reply at 9600 Bd,
// drivers on from just before to just after their frames, the responder's conductors exchanged where swapped.
func pairVolts(swapped bool) (capture.Info, *capture.Block) {
	const rate = 200000
	l := uart.Line{Speed: 9600, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}}
	p := link.ModbusRTU(l)
	clock := (&capturetest.Loop{Rate: rate}).Clock()
	asks, answers := &uarttest.Wire{Clock: clock}, &uarttest.Wire{Clock: clock}
	askOn, answerOn := &uarttest.Wire{Clock: clock, High: true}, &uarttest.Wire{Clock: clock, High: true} // space: high: driver on
	drive := func(w, on *uarttest.Wire, at float64, v []uint16) float64 {
		w.Now = at
		start, end := w.Send(uarttest.Sender{Line: l}, v...)
		on.Set(start-50e-6, false)
		on.Set(end+50e-6, true)
		return end
	}
	now := 0.05
	for n := range 60 {
		end := drive(asks, askOn, now, framed(p.Checksum, 0x0B, 0x03, 0x00, byte(n), 0x00, 0x02, 0, 0))
		drive(answers, answerOn, end+0.007, framed(p.Checksum, 0x0B, 0x03, 0x04, 0x00, byte(100+n), 0x00, byte(n*7), 0, 0))
		now += 0.1
	}
	ask, answer := levelAt(asks.Block()), levelAt(answers.Block())
	askDrives, answerDrives := levelAt(askOn.Block()), levelAt(answerOn.Block())
	return sampled(rate, now, 0.03, func(t capture.Tick) float64 {
		v := 0.35 // bias
		sign := map[capture.Level]float64{capture.High: 1, capture.Low: -1}
		one, two, on, off := ask(t), answer(t), askDrives(t), answerDrives(t)
		switch {
		case on == capture.High:
			v = 2.4 * sign[one]
		case off == capture.High && swapped:
			v = -2.2 * sign[two]
		case off == capture.High:
			v = 2.2 * sign[two]
		}
		return v
	})
}

// A pair in volts is read; where one talker's conductors are exchanged, that is noticed and convicts the wiring.
func TestPairInVolts(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		swapped bool
		want    string
	}{{false, "none/none"}, {true, "reversed-conductors/line"}} {
		info, b := pairVolts(c.swapped)
		for _, tap := range []capture.Tap{capture.Pair, capture.TapUnknown} {
			f := find(t, capturetest.Pieces(info, b, 5000), decode.Options{Tap: tap})
			if v := f.Verdict.String(); v != c.want {
				t.Errorf("swapped %v, tap %v: got %s: %s", c.swapped, tap, v, f.Verdict.Summary)
				for _, e := range f.Evidence {
					t.Logf("%s: %s", e.ID, e.Says)
				}
			}
			if f.Recording.Tap != capture.Pair || f.Link == nil || f.Link.Line.Inverted {
				t.Errorf("swapped %v, tap %v: inferred %v, link %+v", c.swapped, tap, f.Recording.Tap, f.Link)
			}
			for _, s := range f.Senders {
				if s.Good < 57 || s.Frames != 60 { // a few of the exchanged frames read as characters either way round
					t.Errorf("swapped %v, tap %v: %v: %d of %d frames good", c.swapped, tap, s.Side, s.Good, s.Frames)
				}
			}
		}
	}
}

// Amperes of a loop have two levels; who sends comes from the dialogue.
func TestLoopCurrentInAmperes(t *testing.T) {
	t.Parallel()
	k := &talk{seed: 4, polls: 50}
	w := &uarttest.Wire{Clock: (&capturetest.Loop{Rate: 20000}).Clock()}
	k.on(w, w)
	level := levelAt(w.Block())
	info, b := sampled(20000, w.Now, 0.0001, func(t capture.Tick) float64 {
		if level(t) == capture.High {
			return 0.0072
		}
		return 0.0001
	})
	for _, tap := range []capture.Tap{capture.LoopCurrent, capture.TapUnknown} {
		f := find(t, capturetest.Pieces(info, b, 4000), decode.Options{Tap: tap})
		if f.Recording.Tap != capture.LoopCurrent || f.Verdict.String() != "none/none" || len(f.Senders) != 2 {
			t.Fatalf("tap %v: %v, %s, %d senders", tap, f.Recording.Tap, f.Verdict.Summary, len(f.Senders))
		}
		for i, side := range []capture.Side{capture.SideA, capture.SideB} {
			if s := &f.Senders[i]; s.Side != side || s.Good != 50 {
				t.Errorf("tap %v: %v: %d good", tap, s.Side, s.Good)
			}
		}
	}
}

// What is no talk is said for what it is: nothing is decoded, nothing convicts.
func TestVoltsWithoutTalk(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		line capturetest.Loop
		says string
	}{
		{"an idle line", capturetest.Loop{Noise: 0.05}, "silent at a constant 12"},
		{"a dead line", capturetest.Loop{Supply: 1e-9, Noise: 0.02}, "silent at a constant"},
		{"mains", capturetest.Loop{Supply: 1e-9, Noise: 0.3, Extra: func(s float64) float64 { return 325 * sine(60.02*s) }}, "nothing but mains"},
		{"a signal conductor at the supply", capturetest.Loop{Place: 1, Noise: 0.05}, "silent at a constant 24"},
		{"a half-wave supply at rest", capturetest.Loop{Supply: 1e-9, Noise: 0.1, Extra: func(s float64) float64 { return math.Max(0, 34*sine(50.01*s)) }}, "half waves"},
		{"pickup", capturetest.Loop{Supply: 1e-9, Noise: 0.1, Extra: func(s float64) float64 { return 17 * sine(50.01*s) }}, "pickup"},
	} {
		c.line.Rate, c.line.Seconds = 10000, 12
		f := find(t, loopSource(&c.line, 1000), decode.Options{})
		if !f.Verdict.Undetermined || !strings.Contains(f.Verdict.Summary, c.says) {
			t.Errorf("%s: %s (%v)", c.name, f.Verdict.Summary, f.Recording.Tap)
		}
	}
}

// An AC-coupled input is recognised: the talk is read all the same, what its levels would say is left out, and nothing is
// convicted by them.
func TestCoupledInputDropsLevels(t *testing.T) {
	t.Parallel()
	k := &talk{seed: 8, polls: 60}
	l := k.inVolts(capturetest.Loop{Noise: 0.05})
	b := l.Block()
	const pole = 0.02 // s
	keep := 1 - 1/(pole*float64(l.Rate))
	held, before := 0.0, b.Volts[0]
	for i, v := range b.Volts {
		held = keep * (held + v - before)
		before, b.Volts[i] = v, held
	}
	f := find(t, capturetest.Pieces(l.Info(), b, 3000), decode.Options{Tap: capture.IndoorTerminal})
	if f.Volts == nil || !f.Volts.Coupled || f.Volts.Dropped == "" {
		t.Fatalf("not recognised: %+v", f.Volts)
	}
	for _, e := range f.Evidence {
		switch e.ID {
		case "levels", "dips", "no-dips", "hum", "no-hum", "place-moves", "place-holds", "mark-noise", "supply-size":
			t.Errorf("levels speak: %s", e.Says)
		}
	}
	if v := &f.Verdict; !v.Undetermined && v.Cause != cause.None {
		t.Errorf("%s", v.Summary)
	}
	good := int64(0)
	for _, s := range f.Senders {
		good += s.Good
	}
	if good < 110 {
		t.Errorf("%d of 120 frames good", good)
	}
}

// Where a recording has levels and volts, the levels are read as they are given, and the volts say what levels say.
func TestLevelsAndVoltsTogether(t *testing.T) {
	t.Parallel()
	k := &talk{seed: 9, polls: 40}
	l := k.inVolts(capturetest.Loop{Noise: 0.05})
	b := l.Block()
	clean := &uarttest.Wire{Clock: l.Clock()}
	(&talk{seed: 9, polls: 40}).on(clean, clean)
	levels := clean.Block()
	b.First, b.Transitions = levels.First, levels.Transitions
	info := l.Info()
	info.Levels = true
	e := decode.New(info, nil, decode.Options{Tap: capture.IndoorTerminal})
	defer e.Close()
	if err := e.Add(b); err != nil {
		t.Fatal(err)
	}
	if err := e.Flush(); err != nil {
		t.Fatal(err)
	}
	f := e.Finding()
	if len(f.Senders) != 2 || f.Senders[0].Good+f.Senders[1].Good != 80 || f.Recording.Transitions != int64(len(levels.At)) {
		t.Errorf("%d transitions, senders %+v", f.Recording.Transitions, f.Senders)
	}
	if f.Volts == nil || f.Volts.Levels != 3 || f.Volts.High < 23.5 || f.Volts.High > 24.5 {
		t.Errorf("volts: %+v", f.Volts)
	}
}
