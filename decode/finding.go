package decode

import (
	"time"

	"linewitness/capture"
	"linewitness/decode/check"
	"linewitness/decode/link"
	"linewitness/decode/tally"
	"linewitness/decode/validate"
	"linewitness/decode/verdict"
)

// Finding is what a recording shows, readable at any time. Instants are on the recording's own axis and clock.
type Finding struct {
	Recording  Recording
	Link       *link.Profile  // nil: no talk that could be read
	Volts      *verdict.Volts // what the levels say by themselves; nil: no volts were recorded
	Senders    []Sender
	Unframed   int64
	Verdict    verdict.Verdict
	Prior      verdict.Prior
	Candidates []verdict.Candidate
	Also       []verdict.Candidate
	Cleared    []verdict.Cleared
	Evidence   []verdict.Evidence
	Facts      []validate.Fact // every quantity with its statistic, group by group in a fixed order
	Basis      *verdict.Input  // what the verdict stands on
	Actions    []check.Share   // what to do, the likeliest first
	NextChecks []check.Ranked
	Caution    string // for the tap at hand
	Excerpts   []tally.Excerpt
	Values     []tally.Value // what good frames carried, in units; only where a profile describes them
	Sums       []*tally.Sums // what figures need of each sender's traffic, in the order of Senders
	Envelope   tally.Envelope
}

// Recording is what was examined.
type Recording struct {
	Name        string
	Tap         capture.Tap
	TapInferred bool
	Start       time.Time // zero: not known
	Clock       capture.Clock
	From, To    capture.Tick // first and last instant covered
	Transitions int64
	Samples     int64
	Lost        capture.Tick
	Gaps        int64
}

// Sender is one side's traffic. Figures that could not be measured are NaN.
type Sender struct {
	Side             capture.Side
	Frames, Good     int64
	Bad              Bad
	SpeedErrorPPM    float64 // (measured/nominal - 1) x 1e6, positive = fast
	SpeedPM          float64 // half width of its 95 % interval, ppm
	BiasPct          float64 // median over frames, positive = marks lengthened
	IsochronousPct   float64
	TurnP50, TurnP99 float64 // seconds, nearest rank
}

// Bad counts frames by the rule they broke; one with two faults counts under both.
type Bad struct{ Checksum, Parity, Stop, Length, Timing int64 }
