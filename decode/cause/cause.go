// Package cause is the vocabulary of what can be wrong with a signal line: families, and the causes within them.
//
// A Family is where a fault is mended (wiring, board, setup). A Cause is one fault of a family, with a stable id that
// profiles, scenarios and findings use. A cause sits at a side: wiring at the line, a board's at one of the two units,
// setup at the line or at the unit concerned; PerUnit and OnLine say which are possible.
//
// OtherCause is anything unlike all known causes and is always a candidate. Unknown is the verdict when no candidate is
// likely enough and is never a candidate.
package cause

import "fmt"

// Cause is one thing that can be wrong with a line. Values are not stable between versions: store the id that String
// gives.
type Cause uint8

// The causes, by family. Unknown, the zero value, is the undetermined verdict.
const (
	Unknown Cause = iota

	None // sound: nothing is wrong

	OpenConductor       // wiring: S, N or one of a pair is interrupted
	ShortedConductors   // wiring: two conductors touch
	ReversedConductors  // wiring: conductors in each other's places; see Variants
	VoltageSag          // wiring: the mains falls and the loop's supply with it
	MainsHum            // wiring: mains frequency in series with the loop or coupled in, and losses from it
	ImpulseNoise        // wiring: short pulses of both signs
	Crosstalk           // wiring: another digital line couples in
	PoorJoint           // wiring: a joint with resistance, noisy while current flows
	IntermittentContact // wiring: a contact that opens and closes
	ExcessCapacitance   // wiring: a long spare core or an earthed screen rounds the edges
	Leakage             // wiring: a resistive path between conductors

	SilentSender     // board: does not talk
	DeafReceiver     // board: good replies stand on the line in time and are treated as missing
	StuckSender      // board: holds the line at space
	ClockOff         // board: its bit time is off
	DriverDistortion // board: its spaces are long or short, with sharp edges
	BadChecksum      // board: clean bits, wrong sum
	LateReplies      // board: answers after the controller has stopped waiting
	Restarts         // board: starts again and again
	LoopSupply       // board: the unit's own loop supply is dead or weak, with no dip of the mains

	NoPower        // setup: breaker, isolator or standby relay is open
	SpeedMismatch  // setup: the units talk at different speeds
	TwoControllers // setup: two units poll
	WrongLink      // setup: the talk of another link
	Addressing     // setup: address conflict, wrong address, missing termination
	ProbeArtefact  // setup: the probe loads the line, samples too slowly or is AC-coupled

	OtherCause // unlike anything known

	count int = iota
)

// row is all that is known about a cause.
type row struct {
	id     string
	family Family
	unit   bool // can sit at one unit
	line   bool // can sit at the line
	plain  string
}

var rows = [count]row{
	Unknown: {"unknown", FamilyUnknown, false, false, "not determined"},

	None: {"none", Sound, false, false, "nothing wrong with the line"},

	OpenConductor:       {"open-conductor", Wiring, false, true, "an open signal conductor"},
	ShortedConductors:   {"shorted-conductors", Wiring, false, true, "two conductors shorted together"},
	ReversedConductors:  {"reversed-conductors", Wiring, false, true, "conductors connected in the wrong order"},
	VoltageSag:          {"voltage-sag", Wiring, false, true, "dips of the mains supply"},
	MainsHum:            {"mains-hum", Wiring, false, true, "mains hum on the signal"},
	ImpulseNoise:        {"impulse-noise", Wiring, false, true, "impulse noise on the signal"},
	Crosstalk:           {"crosstalk", Wiring, false, true, "crosstalk from another data line"},
	PoorJoint:           {"poor-joint", Wiring, false, true, "a poor joint in the signal circuit"},
	IntermittentContact: {"intermittent-contact", Wiring, false, true, "a contact in the signal circuit that comes and goes"},
	ExcessCapacitance:   {"excess-capacitance", Wiring, false, true, "too much capacitance on the cable"},
	Leakage:             {"leakage", Wiring, false, true, "leakage between conductors"},

	SilentSender:     {"silent-sender", Board, true, false, "a board that does not talk"},
	DeafReceiver:     {"deaf-receiver", Board, true, false, "a board that does not hear good messages"},
	StuckSender:      {"stuck-sender", Board, true, false, "a board whose sender holds the line"},
	ClockOff:         {"clock-off", Board, true, false, "a board that talks at the wrong speed because its clock is off"},
	DriverDistortion: {"driver-distortion", Board, true, false, "a board whose sender distorts its pulses"},
	BadChecksum:      {"bad-checksum", Board, true, false, "a board that sends clean messages with wrong checksums"},
	LateReplies:      {"late-replies", Board, true, false, "a board that answers too late"},
	Restarts:         {"restarts", Board, true, false, "a board that keeps restarting"},
	LoopSupply:       {"loop-supply", Board, true, false, "a dead or weak loop supply on a board"},

	NoPower:        {"no-power", Setup, true, true, "a unit without power"},
	SpeedMismatch:  {"speed-mismatch", Setup, true, true, "two units set to different speeds"},
	TwoControllers: {"two-controllers", Setup, false, true, "two units that both act as controller"},
	WrongLink:      {"wrong-link", Setup, false, true, "the messages of another kind of link"},
	Addressing:     {"addressing", Setup, true, true, "a wrong or doubled address, or a missing termination"},
	ProbeArtefact:  {"probe-artefact", Setup, false, true, "an effect of the measuring probe itself"},

	OtherCause: {"other", Other, false, true, "something unlike any known fault"},
}

// byID finds a cause by its id.
var byID = func() map[string]Cause {
	m := make(map[string]Cause, len(rows))
	for c, r := range rows {
		m[r.id] = Cause(c)
	}
	return m
}()

// known tells whether c is in the table.
func (c Cause) known() bool { return int(c) < len(rows) }

// String is the stable id, such as "open-conductor"; "none" for a sound line, "unknown" where undetermined.
func (c Cause) String() string {
	if c.known() {
		return rows[c].id
	}
	return fmt.Sprintf("cause %d", uint8(c))
}

// Parse is the cause with that id, "unknown" among them.
func Parse(id string) (Cause, error) {
	if c, ok := byID[id]; ok {
		return c, nil
	}
	return Unknown, fmt.Errorf("cause: expected an id such as open-conductor, silent-sender or none, found %q", id)
}

// Family is what c belongs to; FamilyUnknown for Unknown.
func (c Cause) Family() Family {
	if c.known() {
		return rows[c].family
	}
	return FamilyUnknown
}

// Plain is c as a phrase for a technician, with its article and without a full stop.
func (c Cause) Plain() string {
	if c.known() {
		return rows[c].plain
	}
	return c.String()
}

// PerUnit tells whether c can sit at one of the two units: all board causes, and the setup causes that concern a unit.
func (c Cause) PerUnit() bool { return c.known() && rows[c].unit }

// OnLine tells whether c can sit at the line. A setup cause can do both: which unit is set wrong may stay open.
func (c Cause) OnLine() bool { return c.known() && rows[c].line }

// All lists every cause that can be a candidate, in the order of the constants: all but Unknown.
func All() []Cause {
	all := make([]Cause, 0, count-1)
	for c := None; int(c) < count; c++ {
		all = append(all, c)
	}
	return all
}

// Variants lists the forms of c that a finding may name; nil for a cause that has none. For reversed-conductors: two
// of L, N and S in each other's places (order-LN, order-LS, order-SN), the lines of two systems exchanged, the two of
// a pair exchanged.
func (c Cause) Variants() []string {
	if c == ReversedConductors {
		return []string{"order-LN", "order-LS", "order-SN", "crossed-systems", "swapped-AB"}
	}
	return nil
}
