package decode_test

import "linewitness/decode/uart/uarttest"

// loopCase is a circuit of a table. At 50 kSa/s at least this share of its transitions must lie within 5 us or 1 % of a
// bit of ngspice's; the others, and all at 20 kSa/s, may use their own doubt instead.
type loopCase struct {
	name string
	loopCircuit
	share float64
}

// curved is the share where an edge lasts longer than the 20 us between two samples: a straight line between them is off
// by at most an eighth of 20 us squared over the time constant, 3 us at the shortest of 17 us, and noise of 20 mV by less
// than 1 us.
const curved = 0.95

// loopTables are the cases by what they show. What each does to the line: reasoning over the circuit, as in the netlist.
var loopTables = map[string][]loopCase{
	"idle": {
		{name: "nobody talks", loopCircuit: loopCircuit{speed: 2400, talk: nobody}},
	},
	"each side open": {
		{name: "dialogue 1200 Bd", loopCircuit: loopCircuit{speed: 1200, talk: dialogue(4)}},
		{name: "dialogue 2400 Bd", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(5)}},
		{name: "dialogue 9600 Bd", loopCircuit: loopCircuit{speed: 9600, talk: dialogue(8)}},
		{name: "held open in turn", loopCircuit: loopCircuit{speed: 2400, talk: heldOpen}},
		{name: "other unit alone", loopCircuit: loopCircuit{speed: 2400, talk: onlyOther}},
		{name: "feeding unit alone", loopCircuit: loopCircuit{speed: 2400, talk: onlyFeed}},
		{name: "other stays open", loopCircuit: loopCircuit{speed: 2400, talk: otherOpens}},
		{name: "feeding stays open", loopCircuit: loopCircuit{speed: 2400, talk: feedOpens}},
	},
	"edges": { // time constants of the open states: cable times 2.2 kohm; in mark half of that
		{name: "1200 Bd 47 nF", loopCircuit: loopCircuit{speed: 1200, talk: dialogue(4), cable: 47e-9}, share: curved},
		{name: "1200 Bd 100 nF", loopCircuit: loopCircuit{speed: 1200, talk: dialogue(4), cable: 100e-9}, share: curved},
		{name: "2400 Bd 22 nF", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(5), cable: 22e-9}, share: curved},
		{name: "2400 Bd 10 nF", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(5), cable: 10e-9}},
		{name: "9600 Bd 4.7 nF", loopCircuit: loopCircuit{speed: 9600, talk: dialogue(8), cable: 4.7e-9}},
		{name: "unequal ends 22 nF", loopCircuit: loopCircuit{speed: 1200, talk: dialogue(4), feedR: 1000, otherR: 3300, cable: 22e-9},
			share: curved},
		{name: "phototransistors", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(5), cable: 22e-9, phototransistor: true}, share: curved},
	},
	"dip": { // one in the idle, one across frames
		{name: "by 30 %", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(8),
			dips: []dip{{at: 0.112, lasts: 0.030, depth: 0.3}, {at: 0.350, lasts: 0.150, depth: 0.3}}}},
		{name: "by 30 % while idle", loopCircuit: loopCircuit{speed: 2400, talk: nobody, dips: []dip{{at: 0.150, lasts: 0.080, depth: 0.3}}}},
	},
	"neutral drop": {
		{name: "3 V", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(5), neutral: 3}},
		{name: "3 V 1200 Bd", loopCircuit: loopCircuit{speed: 1200, talk: dialogue(4), neutral: 3, feedR: 3300, otherR: 1500}},
	},
	"leak":  {{name: "20 kohm", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(5), leak: 20e3}}},
	"joint": {{name: "600 ohm", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(5), joint: 600}}},
	"supply": {
		{name: "fed at this end", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(5), atFeed: true}},
		{name: "negative", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(5), supply: -24}},
		{name: "negative at this end", loopCircuit: loopCircuit{speed: 1200, talk: dialogue(4), supply: -48, atFeed: true}},
		{name: "140 V", loopCircuit: loopCircuit{speed: 1200, talk: dialogue(4), supply: 140, feedR: 15e3, otherR: 15e3}},
	},
	"mark near an end": {
		{name: "0.1", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(5), feedR: 3960, otherR: 440}},
		{name: "0.9", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(5), feedR: 440, otherR: 3960}},
		{name: "0.9 negative", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(5), feedR: 440, otherR: 3960, supply: -24}},
	},
}

// A loopTalk puts on the wires what the feeding and the other unit send.
type loopTalk func(s uarttest.Sender, feed, other *uarttest.Wire)

// dialogue is polls of the other unit, each answered by the feeding one, in frames of six characters.
func dialogue(n int) loopTalk {
	return func(s uarttest.Sender, feed, other *uarttest.Wire) {
		for range n {
			sendFrame(s, other)
			feed.Now = other.Now + 0.015
			sendFrame(s, feed)
			other.Now = feed.Now + 0.025
		}
	}
}

// sendFrame sends six characters drawn by chance.
func sendFrame(s uarttest.Sender, w *uarttest.Wire) {
	for range 6 {
		w.Send(s, uint16(s.Rand.IntN(256)))
	}
}

// onlyOther is polls that nobody answers; onlyFeed is frames of the feeding unit alone.
func onlyOther(s uarttest.Sender, _, other *uarttest.Wire) { alone(s, other) }
func onlyFeed(s uarttest.Sender, feed, _ *uarttest.Wire)   { alone(s, feed) }

func alone(s uarttest.Sender, w *uarttest.Wire) {
	for range 6 {
		sendFrame(s, w)
		w.Idle(0.040)
	}
}

// heldOpen is a dialogue, then each side open for 80 ms, then a dialogue.
func heldOpen(s uarttest.Sender, feed, other *uarttest.Wire) {
	dialogue(2)(s, feed, other)
	other.Pulse(0.080)
	feed.Now = other.Now + 0.050
	feed.Pulse(0.080)
	other.Now = feed.Now + 0.050
	dialogue(2)(s, feed, other)
}

// otherOpens and feedOpens: a side opens and stays open.
func otherOpens(_ uarttest.Sender, _, other *uarttest.Wire) { opens(other) }
func feedOpens(_ uarttest.Sender, feed, _ *uarttest.Wire)   { opens(feed) }

func opens(w *uarttest.Wire) {
	w.Idle(0.250)
	w.Set(w.Now, false)
	w.Idle(0.250)
}

// nobody talks.
func nobody(_ uarttest.Sender, _, other *uarttest.Wire) { other.Idle(0.3) }
