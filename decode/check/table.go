package check

import (
	"linewitness/decode/cause"
	"linewitness/decode/circuit"
)

// causes shortens the table.
type causes = []cause.Cause

// loopTaps and the others are the taps after whose recordings a check makes sense: a line of L, N and S, one that shows
// levels but no volts, a pair.
var (
	loopTaps    = []string{"indoor-terminal", "outdoor-terminal", "loop-current", "board-pin", Unrecorded}
	allTaps     = []string{"indoor-terminal", "outdoor-terminal", "loop-current", "board-pin", "pair"}
	digitalTaps = []string{"board-pin", "pair"}
	pairTaps    = []string{"pair"}
)

const (
	yesNo = "yes|no|unknown"
	volts = "dc:steady:23.8V, dc:swings:0..24V or ac:230V, each with an optional ;meter=10M or ;meter=lowz"
	ohms  = "ohm:1.2, ohm:2.2k or ohm:over"
)

// checks is the one table of checks.
func checks() []Check {
	return []Check{
		{
			// Common practice, no source: a unit shows a communication fault some time after the dialogue ends.
			ID: "fault-shown", Minutes: 1, Values: yesNo,
			Do:       "Look at both units' lamps or displays: is a communication fault shown?",
			outcomes: []string{"no fault shown", "a communication fault shown"},
			table: []leads{
				{1, "", causes{cause.OpenConductor, cause.ShortedConductors, cause.ReversedConductors, cause.SilentSender, cause.DeafReceiver,
					cause.StuckSender, cause.BadChecksum, cause.LoopSupply, cause.NoPower, cause.SpeedMismatch, cause.WrongLink, cause.Addressing}},
				{open, "", causes{cause.VoltageSag, cause.MainsHum, cause.ImpulseNoise, cause.Crosstalk, cause.PoorJoint, cause.IntermittentContact,
					cause.ExcessCapacitance, cause.Leakage, cause.ClockOff, cause.DriverDistortion, cause.LateReplies, cause.Restarts, cause.TwoControllers}},
				{open, "indoor", causes{cause.NoPower}},
			},
		},
		{
			ID: "outdoor-live", Minutes: 2, Values: yesNo,
			Do:       "Look for life in the outdoor unit without opening it: a lamp, a display, a fan or crankcase warmth.",
			outcomes: []string{"alive", "no life"},
			says:     map[string][]int{"yes": {0}, "no": {1}},
			table: []leads{
				{1, "outdoor", causes{cause.NoPower}},
				{open, "outdoor", causes{cause.LoopSupply, cause.Restarts}},
				{open, "", causes{cause.OpenConductor, cause.ReversedConductors}}, // an open or misplaced N stops the unit, an open S does not
			},
		},
		{
			ID: "demand", Minutes: 10, Values: yesNo,
			Do: "Record at the terminals, at the same tap where there is a recording, from power-up through a call for cooling or heating that stands for several minutes, and say whether the call stood. " +
				"Units sleep: silence without demand proves nothing.",
			Caution:  atProbe,
			outcomes: []string{"both units talk", "one talks, no answer", "nobody talks", "talk starts again and again"},
			says:     map[string][]int{"yes": nil, "no": nil}, // it says what a recording's silence is worth
			table: []leads{
				{1, "", causes{cause.SilentSender, cause.Addressing, cause.WrongLink, cause.SpeedMismatch}},
				{2, "", causes{cause.ShortedConductors, cause.StuckSender, cause.LoopSupply, cause.NoPower}},
				{3, "", causes{cause.Restarts}},
				{open, "", causes{cause.OpenConductor, cause.ReversedConductors, cause.IntermittentContact}},
			},
		},
		{
			ID: "series-list", Minutes: 5, Values: yesNo, Taps: loopTaps,
			Do: "List everything in series with S: condensate pump or float contact, isolator contact, door contact, surge arrester, splice box. " +
				"Is there any, and was one open when the fault showed?",
			outcomes: []string{"nothing in series", "a contact in series"},
			table: []leads{
				{1, "", causes{cause.IntermittentContact}},
				{open, "", causes{cause.OpenConductor, cause.Leakage, cause.PoorJoint}},
			},
		},
		{
			ID: "settings", Minutes: 5, Values: yesNo,
			Do: "With covers on where possible, compare address, speed, controller and termination settings, and the model combination, with both units' documents. " +
				"Is anything set wrong, doubled or missing? Isolate both units before a cover is opened.",
			Caution:  atTerminals,
			outcomes: []string{"all as documented", "a setting is wrong"},
			table:    []leads{{1, "", causes{cause.Addressing, cause.TwoControllers, cause.SpeedMismatch, cause.WrongLink}}},
		},
		{
			ID: "loads-at-times", Minutes: 10, Values: yesNo,
			Do:       "Go through the times of the losses: did a large load (compressor, heater, lift, welder) start or stop at these moments?",
			outcomes: []string{"no coincidence", "losses go with a load"},
			table: []leads{
				{1, "", causes{cause.VoltageSag, cause.ImpulseNoise}},
				{open, "", causes{cause.MainsHum, cause.Restarts, cause.PoorJoint}}, // N carries load current
			},
		},
		{
			// Common practice, no source: units fed separately need one common N.
			ID: "same-n", Minutes: 10, Values: yesNo, Taps: loopTaps,
			Do:       "Trace on the plan and at the distribution board, power off: is the outdoor unit's N the indoor unit's N, from one circuit?",
			Caution:  atTerminals,
			outcomes: []string{"one N", "two different N"},
			says:     map[string][]int{"yes": {0}, "no": {1}},
			table: []leads{
				{1, "", causes{cause.MainsHum}},
				{open, "", causes{cause.ReversedConductors, cause.OpenConductor}},
			},
		},
		{
			// Common practice, no source: tug every conductor, and make joints anew rather than judge them by ohms.
			ID: "joints", Minutes: 15, Values: "no|yes|loose|wet|order|unknown",
			Do: "Power off and proved dead, look at every joint and terminal of the signal line at both ends and between, tug each conductor, compare the order of conductors at both ends, " +
				"look for water and traces of heat; terminate anew what moves. Was anything found, and was it loose or hot, wet or touching, or in the wrong order?",
			Caution:  hotN + miswire + atTerminals,
			outcomes: []string{"all firm, dry and in order", "loose, hot or broken", "wet or touching", "wrong order"},
			says:     map[string][]int{"no": {0}, "yes": {1, 2, 3}, "loose": {1}, "wet": {2}, "order": {3}},
			table: []leads{
				{1, "", causes{cause.OpenConductor, cause.PoorJoint, cause.IntermittentContact}},
				{2, "", causes{cause.ShortedConductors, cause.Leakage}},
				{3, "", causes{cause.ReversedConductors}},
			},
		},
		{
			ID: "S-S@line", Minutes: 15, Values: ohms, Taps: loopTaps,
			Do: "Power off and proved dead, S disconnected at both ends, measure the resistance of conductor S from end to end, through a known spare core. " +
				"With boards connected ohms mean nothing, and a low value does not clear a joint that fails under load.",
			Caution:  atTerminals,
			quantity: &circuit.Quantity{From: circuit.S, To: circuit.S}, metered: Resistance,
		},
		{
			ID: "S-N@line", Minutes: 15, Values: ohms, Taps: loopTaps,
			Do: "Power off and proved dead, S and N disconnected at both ends, measure the resistance between the conductors with the meter's ohm range. " +
				"No insulation tester while a board is connected: it destroys boards.",
			Caution:  atTerminals,
			quantity: &circuit.Quantity{From: circuit.S, To: circuit.N}, metered: Resistance,
		},
		{
			ID: "other-end", Minutes: 15, Taps: allTaps,
			Do:       "Connect the probe at the other unit's terminals with the power off, then record there through the fault, and examine both recordings together.",
			Caution:  atProbe,
			outcomes: []string{"both sides whole there too", "the far side talks only there", "the far side is silent there too", "the damage is another there"},
			table: []leads{
				{1, "", causes{cause.OpenConductor, cause.Leakage}},
				{2, "", causes{cause.SilentSender, cause.StuckSender, cause.LoopSupply, cause.NoPower, cause.ShortedConductors}},
				{3, "", causes{cause.PoorJoint, cause.IntermittentContact, cause.ExcessCapacitance, cause.MainsHum, cause.Crosstalk, cause.ImpulseNoise, cause.ProbeArtefact}},
				{open, "", causes{cause.ReversedConductors}},
			},
		},
		{
			ID: "terminal-volts", Minutes: 15, Taps: digitalTaps,
			Do:       "Record volts at the unit's terminals instead, at 8 samples a bit or more: levels, edges and ripple tell apart what two levels cannot.",
			Caution:  atProbe,
			outcomes: []string{"quiet levels, sharp edges", "levels move or ripple", "curved edges", "bounce or spikes", "a second signal"},
			table: []leads{
				{1, "", causes{cause.VoltageSag, cause.MainsHum, cause.PoorJoint, cause.Leakage, cause.LoopSupply}},
				{2, "", causes{cause.ExcessCapacitance}},
				{3, "", causes{cause.IntermittentContact, cause.ImpulseNoise}},
				{4, "", causes{cause.Crosstalk}},
				{open, "", causes{cause.OpenConductor, cause.ShortedConductors, cause.ReversedConductors}},
			},
		},
		{
			ID: "loop-current", Minutes: 15, Taps: []string{"indoor-terminal", "outdoor-terminal", "board-pin"},
			Do:       "With the power off put a current probe on S at the outdoor terminals, then record the loop current through a call for cooling.",
			Caution:  Caution("loop-current"),
			outcomes: []string{"switched by both units", "switched by one unit", "none", "mains frequency"},
			table: []leads{
				{1, "", causes{cause.SilentSender, cause.ShortedConductors, cause.Leakage}},
				{2, "", causes{cause.OpenConductor, cause.StuckSender}},
				{2, "outdoor", causes{cause.LoopSupply, cause.NoPower}},
				{3, "", causes{cause.ReversedConductors}},
				{open, "indoor", causes{cause.NoPower, cause.LoopSupply}},
			},
		},
		{
			ID: "probe-off", Minutes: 5, Values: yesNo,
			Do: "Take the probe off with the power off, run the units without it, and watch: does the fault stay? " +
				"Then record with a probe of higher resistance, DC-coupled, at 8 samples a bit or more.",
			Caution:  atProbe,
			outcomes: []string{"nothing changes", "the fault goes with the probe"},
			says:     map[string][]int{"yes": {0}, "no": {1}},
			table:    []leads{{1, "", causes{cause.ProbeArtefact}}},
		},
		{
			ID: "A-B@line,swapped", Minutes: 10, Values: yesNo, Taps: pairTaps,
			Do:       "With the power off exchange A and B at one unit only, power up and wait for talk: does the fault go?",
			Caution:  miswire + Caution("pair"),
			outcomes: []string{"no better", "the fault goes"},
			table:    []leads{{1, "", causes{cause.ReversedConductors}}},
		},
		{
			ID: "L-N@outdoor,lifted=S,lifted-at=outdoor", Live: true, Minutes: 8, Values: volts,
			Do:       "With S lifted off the outdoor terminal, measure the mains from L to N at the outdoor unit's terminals.",
			Caution:  atMeter,
			quantity: &circuit.Quantity{From: circuit.L, To: circuit.N, At: circuit.Outdoor, Lifted: circuit.Outdoor}, metered: AC,
		},
		{
			// Common practice, no source: a steady DC on the terminal shows that the outdoor side's loop supply lives.
			ID: "S-N@outdoor,lifted=S,lifted-at=outdoor", Live: true, Minutes: 8, Values: volts, Taps: loopTaps,
			Do: "With S lifted off the outdoor terminal, measure DC from the outdoor S terminal to N. Steady: the outdoor side feeds the loop. " +
				"Nothing: it is dead, its sender is open, or the indoor unit feeds this link.",
			Caution:  atMeter,
			quantity: &circuit.Quantity{From: circuit.S, To: circuit.N, At: circuit.Outdoor, Lifted: circuit.Outdoor}, metered: DC,
		},
		{
			// Common practice, no source: a hand meter shows a talking line as a voltage that never settles.
			ID: "S-N@indoor", Live: true, Minutes: 5, Values: volts, Taps: loopTaps,
			Do:       "During a call for cooling measure DC from S to N at the indoor terminals for a minute. A talking line swings and never settles.",
			Caution:  atMeter,
			quantity: &circuit.Quantity{From: circuit.S, To: circuit.N, At: circuit.Indoor}, metered: DC,
		},
		{
			ID: "S-N@outdoor", Live: true, Minutes: 5, Values: volts, Taps: loopTaps,
			Do:       "During a call for cooling measure DC from S to N at the outdoor terminals for a minute. An open S stands high here and near 0 indoors.",
			Caution:  atMeter,
			quantity: &circuit.Quantity{From: circuit.S, To: circuit.N, At: circuit.Outdoor}, metered: DC,
		},
		{
			// Common practice, no source: volts on the lifted wire that keep moving show that the indoor side tries to talk.
			ID: "S-N@indoor,lifted=S,lifted-at=outdoor", Live: true, Minutes: 8, Values: volts, Taps: loopTaps,
			Do: "With S lifted off the outdoor terminal, measure DC from S to N at the indoor terminals, where the wire still hangs. " +
				"Steady and high: the indoor unit feeds the loop. Nothing: it feeds none, or S is shorted or open.",
			Caution:  atMeter,
			quantity: &circuit.Quantity{From: circuit.S, To: circuit.N, At: circuit.Indoor, Lifted: circuit.Outdoor}, metered: DC,
		},
		{
			ID: "L-N@indoor", Live: true, Minutes: 5, Values: volts, Taps: loopTaps,
			Do:       "Measure the mains from L to N at the indoor unit's terminals.",
			Caution:  atMeter,
			quantity: &circuit.Quantity{From: circuit.L, To: circuit.N, At: circuit.Indoor}, metered: AC,
		},
		{
			ID: "N-PE@outdoor", Live: true, Minutes: 5, Values: volts, Taps: loopTaps,
			Do:       "Under load measure AC from N to protective earth at the outdoor terminals. More than a few volts: N is open, loose, long or another circuit's.",
			Caution:  hotN + atMeter,
			quantity: &circuit.Quantity{From: circuit.N, To: circuit.PE, At: circuit.Outdoor}, metered: AC,
		},
	}
}
