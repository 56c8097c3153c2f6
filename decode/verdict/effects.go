package verdict

import (
	"linewitness/capture"
	"linewitness/decode/cause"
)

// where says on whose frames a cause can act.
type where uint8

const (
	own    where = iota // those of the unit at whose side it sits
	either              // one side's, the other's or both
	both                // both sides' together
)

// effect is what a cause can do to what a digital tap sees.
type effect struct {
	frames  kinds // kinds of bad frames
	at      where
	missing bool // good polls without a reply
	late    bool // replies after the link's limit
	lasting bool // does not come and go: in half of its cases it loses everything that it acts on
	hidden  bool // may act without a loss that this tap can see
	alike   bool // on the line, whoever sends: mostly at one rate
	shapes  bool // frames have another shape or sum, whole or not: they may all be of either kind
	cause   cause.Cause
}

// effects by cause. On a digital tap the wiring's faults look alike: they differ in levels, which this tap has not.
// Read off the circuit, not fitted.
var effects = map[cause.Cause]effect{
	cause.SilentSender:      {at: own, missing: true, lasting: true},
	cause.DeafReceiver:      {at: own, hidden: true},                                       // shows in what its unit does next: see ignored
	cause.StuckSender:       {frames: clean | dirty, at: both, lasting: true},              // nothing whole can stand on a line that is held
	cause.ClockOff:          {frames: dirty, at: own, missing: true, hidden: true},         // its clock is evidence by itself
	cause.DriverDistortion:  {frames: clean | dirty, at: own, missing: true, hidden: true}, // its bias likewise
	cause.ExcessCapacitance: {frames: clean | dirty, at: either, missing: true, hidden: true},
	cause.BadChecksum:       {frames: clean, at: own, lasting: true},
	cause.LateReplies:       {frames: clean | dirty, at: either, missing: true, late: true}, // they meet the poll that was sent again
	cause.Restarts:          {at: own, missing: true},
	cause.LoopSupply:        {frames: clean | dirty, at: either, missing: true},
	cause.NoPower:           {at: own, missing: true, lasting: true},
	cause.SpeedMismatch:     {frames: dirty, at: either, missing: true, lasting: true},
	cause.TwoControllers:    {frames: clean | dirty, at: both, missing: true},
	cause.WrongLink:         {frames: clean | dirty, at: both, lasting: true, shapes: true},
	cause.Addressing:        {frames: clean | dirty, at: either, missing: true, lasting: true, shapes: true},
	cause.ProbeArtefact:     {frames: clean | dirty, at: either, missing: true},
	cause.OtherCause:        {frames: clean | dirty, at: either, missing: true}, // late replies have a name
}

// effectOf is a cause's effect; that of most wiring faults is the same here.
func effectOf(c cause.Cause) effect {
	e, ok := effects[c]
	if !ok && c.Family() == cause.Wiring {
		e = effect{frames: clean | dirty, at: either, missing: true}
		switch c {
		case cause.OpenConductor, cause.ShortedConductors, cause.ReversedConductors:
			e.lasting = true
		case cause.ImpulseNoise, cause.Crosstalk:
			e.alike = true
		}
	}
	e.cause = c
	return e
}

// inLevels tells whether a cause shows in the levels themselves.
func inLevels(c cause.Cause) bool {
	switch c {
	case cause.VoltageSag, cause.MainsHum, cause.PoorJoint, cause.Leakage, cause.LoopSupply:
		return true
	}
	return false
}

// keys are all candidates: sound, every cause at every side that it can sit at, and other.
func keys(sides []capture.Side) []Key {
	all := []Key{{cause.None, capture.None}}
	for _, c := range cause.All() {
		switch {
		case c == cause.None || c == cause.OtherCause:
		case c.OnLine() && c != cause.NoPower: // what concerns either unit alike stands once, at the line
			all = append(all, Key{c, capture.Line})
		default:
			for i, s := range sides {
				if c == cause.LateReplies && i == 0 && len(sides) == 2 {
					continue // the first of two is the one that polls
				}
				all = append(all, Key{c, s})
			}
		}
	}
	return append(all, Key{cause.OtherCause, capture.SideUnknown})
}

// pulses tells whether a cause makes pulses too short for a bit: noise, crosstalk and hum of both kinds, a contact that opens
// never a mark inside a space.
func pulses(c cause.Cause, marks bool) bool {
	switch c {
	case cause.ImpulseNoise, cause.Crosstalk, cause.MainsHum, cause.TwoControllers, cause.Addressing, cause.ProbeArtefact, cause.OtherCause,
		cause.LateReplies:
		return true // two that send over each other make pulses too
	case cause.PoorJoint, cause.IntermittentContact:
		return !marks
	}
	return false
}
