package output

import (
	"math"
	"time"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/cause"
	"linewitness/decode/check"
	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/validate"
	"linewitness/decode/verdict"
)

// The findings below are invented; so are Birchmere, the training house, and its makes Meadow, Quarry and Heron.

var nan = math.NaN()

func key(c cause.Cause, s capture.Side) verdict.Key { return verdict.Key{Cause: c, Side: s} }

func modbus() *checksum.Spec {
	entry, err := checksum.Lookup("CRC-16/MODBUS")
	if err != nil {
		panic(err)
	}
	return &checksum.Spec{Sum: entry.Sum(), From: 0, To: -2, At: -2, Order: checksum.Little}
}

// silentOutdoor is Birchmere's room 4: the Quarry outdoor unit does not answer.
func silentOutdoor() *decode.Finding {
	return &decode.Finding{
		Recording: decode.Recording{
			Name: "quarry-room-4.vcd", Tap: capture.Pair, TapInferred: true, Clock: capture.Nanoseconds,
			Start: time.Date(2026, 3, 2, 9, 30, 0, 0, time.UTC),
			From:  0, To: 15_000_000_001, Transitions: 4180, Lost: 250_000_000, Gaps: 1,
		},
		Link: &link.Profile{
			Kind: link.TwoWire, Line: uart.Line{Speed: 9600, Format: uart.Format{DataBits: 8, StopHalfs: 2}},
			Framing: link.Framing{Gap: 0.0036}, Checksum: modbus(), Learned: true,
		},
		Senders: []decode.Sender{
			{Side: capture.Indoor, Frames: 38, Good: 36, Bad: decode.Bad{Checksum: 2, Timing: 1}, SpeedErrorPPM: 118.25,
				BiasPct: -1.5, IsochronousPct: 2.25, TurnP50: nan, TurnP99: nan},
			{Side: capture.Outdoor, SpeedErrorPPM: nan, BiasPct: nan, IsochronousPct: nan, TurnP50: nan, TurnP99: nan},
		},
		Unframed: 1,
		Verdict: verdict.Verdict{
			Key: key(cause.SilentSender, capture.Outdoor), Family: cause.Board, Probability: 0.875, Explains: 97.5, ExplainsLow: 86, ExplainsHigh: 100,
			Summary: "The outdoor board does not answer: 38 polls went out, nothing came back",
		},
		Candidates: []verdict.Candidate{
			{Key: key(cause.SilentSender, capture.Outdoor), Probability: 0.875, PriorBits: -4},
			{Key: key(cause.OpenConductor, capture.Line), Probability: 0.120, PriorBits: -3},
			{Key: key(cause.OtherCause, capture.Line), Probability: 0.0049, PriorBits: -6},
			{Key: key(cause.None, capture.None), Probability: 0.0001, PriorBits: 0},
		},
		Also:    []verdict.Candidate{{Key: key(cause.ImpulseNoise, capture.Line), Probability: 0.25}},
		Cleared: []verdict.Cleared{{What: "indoor board, sending", Because: "36 of 38 frames are right in sum and timing"}},
		Evidence: []verdict.Evidence{{
			ID: "missing-replies", Says: "38 of 38 polls stayed without a reply", Value: 1, Low: 0.92, High: 1, Unit: "",
			At: []capture.Tick{400_000_000, 800_000_000, 1_234_567_000, 1_600_000_000},
			Bits: map[verdict.Key]float64{
				key(cause.SilentSender, capture.Outdoor): 16.5, key(cause.OpenConductor, capture.Line): 13,
			},
		}},
		Prior:      verdict.Prior{History: "routine", Flat: verdict.Candidate{Key: key(cause.SilentSender, capture.Outdoor), Probability: 0.8}},
		Actions:    []check.Share{{Action: check.ReplaceOutdoor, Probability: 0.875}, {Action: check.Reterminate, Probability: 0.12}},
		NextChecks: []check.Ranked{nextCheck()},
		Caution:    "A and B may stand at mains potential. Isolate and lock off, prove dead, wait for discharge, then connect.",
	}
}

// nothing is a finding of which nothing was measured.
func nothing() *decode.Finding {
	return &decode.Finding{
		Recording: decode.Recording{Name: "-", Clock: capture.Nanoseconds},
		Verdict:   verdict.Verdict{Undetermined: true, Explains: nan, Summary: "the line is silent and nothing shows that it should talk"},
	}
}

// undecided has no candidate that is likely enough.
func undecided() *decode.Finding {
	f := silentOutdoor()
	f.Recording.Name, f.Recording.TapInferred = "heron.csv", false
	f.Verdict = verdict.Verdict{Key: key(cause.OpenConductor, capture.Line), Undetermined: true, Probability: 0.52, Explains: nan,
		Summary: "an open conductor and a silent outdoor board fit alike"}
	f.Candidates = []verdict.Candidate{
		{Key: key(cause.OpenConductor, capture.Line), Probability: 0.52},
		{Key: key(cause.SilentSender, capture.Outdoor), Probability: 0.47},
		{Key: key(cause.OtherCause, capture.Line), Probability: 0.01},
	}
	f.Also, f.Recording.Start = nil, time.Time{}
	return f
}

// sound is Birchmere's room 1: a Meadow pair that talks well.
func sound() *decode.Finding {
	f := silentOutdoor()
	f.Recording.Name, f.Recording.Lost, f.Recording.Gaps = "meadow.vcd", 0, 0
	f.Senders[0] = decode.Sender{Side: capture.Indoor, Frames: 38, Good: 38, SpeedErrorPPM: 118, BiasPct: 0.1, IsochronousPct: 0.25, TurnP50: nan, TurnP99: nan}
	f.Senders[1] = decode.Sender{Side: capture.Outdoor, Frames: 38, Good: 38, SpeedErrorPPM: -40, BiasPct: 0.1, IsochronousPct: 0.25, TurnP50: 0.0123, TurnP99: 0.0141}
	f.Unframed, f.Also, f.Evidence, f.NextChecks = 0, nil, nil, nil
	f.Facts = []validate.Fact{
		{ID: "time.bias-trend", Side: capture.Indoor, Value: 1.25, Low: -0.5, High: 3, Unit: "%/h", N: 20, P: 1},
		{ID: "errors.one-sender", Side: capture.Line, Value: math.Inf(1), Low: 1.5, High: math.Inf(1), N: 4, P: 0.03,
			Times: validate.Times{N: 4, At: []capture.Tick{1000000, 2500000}}},
		{ID: "mains.losses-phase", Side: capture.Outdoor, Value: nan, Low: nan, High: nan, P: nan, Unmeasured: "levels alone do not show the phase of the mains"},
	}
	f.Verdict = verdict.Verdict{Key: key(cause.None, capture.None), Family: cause.Sound, Probability: 0.99996, Explains: nan,
		Summary: "The line and both units talk as they should."}
	f.Candidates = []verdict.Candidate{{Key: key(cause.None, capture.None), Probability: 0.99996}, {Key: key(cause.OtherCause, capture.Line), Probability: 0.00004}}
	return f
}
