package plots

import (
	"math"
	"time"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/cause"
	"linewitness/decode/check"
	"linewitness/decode/link"
	"linewitness/decode/tally"
	"linewitness/decode/uart"
	"linewitness/decode/verdict"
)

// Everything in this file is invented: there is no Birchmere Training House, no unit was recorded there, and the
// figures were chosen to fill the page.

const bit = capture.Tick(416667) // ns at 2,400 Bd

var even = uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}

var sampleLine = uart.Line{Speed: 2400, Format: even}

// talk writes characters onto an invented line, levels and decoded form at once.
type talk struct {
	e     tally.Excerpt
	level capture.Level
	mark  capture.Level
	space capture.Level
}

func (t *talk) set(at capture.Tick, l capture.Level) {
	if l == t.level {
		return
	}
	t.e.Line.At, t.e.Line.To = append(t.e.Line.At, at), append(t.e.Line.To, l)
	t.level = l
}

func (t *talk) frame(at capture.Tick, side capture.Side, spoilt int, values ...uint16) *link.Frame {
	fr := link.Frame{At: at, Side: side, Turnaround: -1, Values: values}
	for i, v := range values {
		ch := uart.Character{At: at, End: at + 11*bit, Value: v, Edges: 6, Space: t.space}
		t.set(at, t.space)
		ones := 0
		for b := range 8 {
			l := t.space
			if v>>b&1 == 1 {
				l, ones = t.mark, ones+1
			}
			t.set(at+capture.Tick(1+b)*bit, l)
		}
		if i == spoilt {
			ones++
			ch.Fault |= uart.FaultParity
			fr.Why |= link.WhyParity
		}
		if ones%2 == 1 {
			t.set(at+9*bit, t.mark)
		} else {
			t.set(at+9*bit, t.space)
		}
		t.set(at+10*bit, t.mark)
		at += 11 * bit
		fr.Chars = append(fr.Chars, ch)
	}
	fr.End = at
	t.e.Frames = append(t.e.Frames, fr)
	return &t.e.Frames[len(t.e.Frames)-1]
}

func sampleTwoLevels() tally.Excerpt {
	const start = 12_345_678_000
	t := talk{level: capture.High, mark: capture.High, space: capture.Low}
	t.e = tally.Excerpt{What: "a parity error in the reply", From: start, First: capture.High}
	poll := t.frame(start+5e6, capture.Indoor, -1, 0xAA, 0x10, 0x03, 0x42, 0xFF)
	poll.Poll = true
	end := poll.End
	reply := t.frame(end+18e6, capture.Outdoor, 2, 0x55, 0x10, 0x83, 0x07, 0xEF)
	reply.Why |= link.WhyChecksum
	reply.Turnaround = 18e6
	t.e.To = reply.End + 8e6
	t.e.Glitches = []uart.Glitch{{At: reply.At + 7e6, Width: 38_000, Mark: true}, {At: end + 9e6, Width: 21_500, Idle: true}}
	t.e.Notes = []tally.Note{{At: reply.Chars[2].At, Label: "parity wrong"}, {At: poll.At, Label: "poll 31"}}
	return t.e
}

// sampleThreeLevels has a controller that opens the loop at its end, a responder that opens it at the other, and a
// stretch of which nothing is known.
func sampleThreeLevels() tally.Excerpt {
	const start = 96_000_000_000
	t := talk{level: capture.Mid, mark: capture.Mid, space: capture.Low}
	t.e = tally.Excerpt{What: "a good poll and its reply", Good: true, From: start, First: capture.Mid}
	poll := t.frame(start+4e6, capture.Outdoor, -1, 0xAA, 0x10, 0x03, 0xBD)
	poll.Poll = true
	end := poll.End
	t.space = capture.High
	reply := t.frame(end+22e6, capture.Indoor, -1, 0x55, 0x10, 0x03, 0x68)
	reply.Turnaround = 22e6
	end = reply.End
	t.set(end+6e6, capture.Unknown)
	t.set(end+14e6, capture.Mid)
	t.e.To = end + 30e6
	return t.e
}

// sampleCrowd has n transitions: characters, frames and glitches far too close to be shown one by one.
func sampleCrowd(n int) tally.Excerpt {
	e := tally.Excerpt{What: "a crowd", First: capture.High, To: capture.Tick(n+1) * 1e5}
	e.Line.At, e.Line.To = make([]capture.Tick, n), make([]capture.Level, n)
	for i := range n {
		e.Line.At[i], e.Line.To[i] = capture.Tick(i+1)*1e5, capture.Low
		if i%2 == 1 {
			e.Line.To[i] = capture.High
		}
		if i%1000 == 0 {
			at := capture.Tick(i+1) * 1e5
			fr := link.Frame{At: at, End: at + 8e7, Turnaround: -1, Values: []uint16{1, 2}}
			fr.Chars = []uart.Character{{At: at, End: at + 4e7}, {At: at + 4e7, End: at + 8e7}}
			if i%250_000 == 0 {
				fr.Why, fr.Chars[0].Fault = link.WhyStop, uart.FaultStop
			}
			e.Frames = append(e.Frames, fr)
			e.Glitches = append(e.Glitches, uart.Glitch{At: at, Width: 3000})
			e.Notes = append(e.Notes, tally.Note{At: at, Label: "here"})
		}
	}
	return e
}

func key(c cause.Cause, s capture.Side) verdict.Key { return verdict.Key{Cause: c, Side: s} }

func sampleFinding() *decode.Finding {
	nan := math.NaN()
	joint, hum, sound := key(cause.PoorJoint, capture.Line), key(cause.MainsHum, capture.Line), key(cause.None, capture.None)
	return &decode.Finding{
		Recording: decode.Recording{
			Name: "birchmere-training-house-two-rooms.vcd (invented)", Tap: capture.OutdoorTerminal, TapInferred: true,
			Start: time.Date(2026, 3, 4, 9, 30, 0, 0, time.UTC), Clock: capture.Nanoseconds,
			From: 0, To: 412_500_000_000, Transitions: 48_211, Lost: 8_000_000, Gaps: 1,
		},
		Link: &link.Profile{
			Kind: link.Loop3, Line: sampleLine, Framing: link.Framing{Gap: 0.009},
			Timing:     link.Timing{PollPeriod: 0.4, TurnaroundMax: 0.06, TwoTalkers: true},
			Controller: capture.Outdoor, Responder: capture.Indoor, Learned: true,
			Equivalent: []string{"sum8 over [0, -1)", "xor8 over [1, -1)"},
		},
		Senders: []decode.Sender{
			{Side: capture.Outdoor, Frames: 1031, Good: 1029, Bad: decode.Bad{Checksum: 1, Timing: 1}, SpeedErrorPPM: 310, SpeedPM: 25,
				BiasPct: 1.4, IsochronousPct: 3.2, TurnP50: nan, TurnP99: nan},
			{Side: capture.Indoor, Frames: 1018, Good: 942, Bad: decode.Bad{Checksum: 71, Parity: 58, Stop: 12}, SpeedErrorPPM: nan, SpeedPM: nan,
				BiasPct: -8.61, IsochronousPct: 21.4, TurnP50: 0.0182, TurnP99: 0.0221},
		},
		Unframed: 9,
		Verdict: verdict.Verdict{Key: joint, Family: cause.Wiring, Conductor: "S", Place: "outdoor terminal", Probability: 0.872,
			Explains: 91, Summary: "A joint with resistance in conductor S is spoiling the indoor unit’s replies; both boards send clean edges."},
		Candidates: []verdict.Candidate{
			{Key: joint, Probability: 0.872}, {Key: hum, Probability: 0.071},
			{Key: key(cause.DriverDistortion, capture.Indoor), Probability: 0.032},
			{Key: key(cause.OtherCause, capture.Line), Probability: 0.022}, {Key: sound, Probability: 0.003},
		},
		Also: []verdict.Candidate{{Key: key(cause.VoltageSag, capture.Line), Probability: 0.64}},
		Cleared: []verdict.Cleared{
			{What: "Outdoor board", Because: "1,029 of 1,031 polls were whole, with edges within 3.2 % of a bit"},
			{What: "Checksum of the indoor board", Because: "every clean reply has the right sum"},
		},
		Evidence: []verdict.Evidence{
			{ID: "bias-indoor", Says: "Marks of the indoor unit’s replies are shortened, and by how much changes within minutes", Value: -8.61, Low: -9.4,
				High: -7.9, Unit: "%", At: []capture.Tick{12_345_678_000, 44_100_000_000, 71_200_000_000, 96_000_000_000, 110e9, 120e9, 130e9},
				Bits: map[verdict.Key]float64{joint: 6.2, hum: 2.1, key(cause.DriverDistortion, capture.Indoor): 3.3}},
			{ID: "hum-phase", Says: "Errors stand at no phase of the mains", Value: nan, Low: nan, High: nan, Unit: "°",
				Bits: map[verdict.Key]float64{hum: -2.8}},
			{ID: "short-pulses", Says: "Pulses too short for a bit, inside spaces", Value: 214, Low: 186, High: 245, Unit: "in 412 s", At: []capture.Tick{12_345_678_000}},
		},
		NextChecks: []check.Ranked{
			{ID: "ohm-S", Do: "With power off and proved dead, measure the resistance of conductor S from terminal to terminal, and move each joint while you watch.",
				Caution: "Wait some minutes for the capacitors before you touch a terminal.", Minutes: 6, Gain: 1.31,
				Separates: []string{"poor-joint/line", "mains-hum/line"}},
			{ID: "S-N@outdoor", Do: "Measure the voltage from S to N at the outdoor terminals while the units talk.",
				Caution: "Live work, only for those qualified for it.", Live: true, Minutes: 2.5, Gain: math.NaN()},
		},
		Caution:  "At the outdoor terminals L is live, and S may be. Isolate and lock off, prove dead, wait ten minutes, then connect the isolated probe.",
		Excerpts: []tally.Excerpt{sampleTwoLevels(), sampleThreeLevels(), sampleCrowd(100_000)},
	}
}
