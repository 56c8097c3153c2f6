package verdict

import (
	"fmt"
	"math"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// ignored: good replies stood on the line in time, and the poll came again. The unit did not hear them, or they were lost
// beyond the tap. As many as are damaged at this tap may be lost beyond it too.
func (j *judge) ignored(d *validate.Dialogue) {
	c := &d.Ignored
	if !c.Measured || c.Of == 0 {
		return
	}
	polls, answers := &j.in.Facts.Senders[0], &j.in.Facts.Senders[1]
	says := fmt.Sprintf("none of %d polls that followed a good reply in time repeated the poll before: %s hears the replies",
		c.Of, SideName(polls.Side))
	share := 0.0
	if c.N > 0 {
		says = fmt.Sprintf("%d of %d polls that followed a good reply in time repeated the poll before: %s treated the reply as missing",
			c.N, c.Of, SideName(polls.Side))
		bad := float64(answers.Clean.N + answers.Dirty.N + answers.Unframed.N)
		_, share = Wilson(bad, float64(answers.Frames+answers.Unframed.N))
	}
	m := &unheard{j: j, bits: talkBits(c, share*float64(c.Of)), asks: polls.Side, answers: answers.Side,
		schedules: talkBits(&d.Interleaved, 0) > 0, loss: j.bitsOf("losses")}
	j.talk("ignored-replies", says, c, m.of)
}

// unheard is what good replies that were ignored say.
type unheard struct {
	j             *judge
	bits          float64
	asks, answers capture.Side
	schedules     bool            // two schedules show too
	loss          map[Key]float64 // what the losses say
}

// of are the bits that they give a candidate.
func (m *unheard) of(k Key) float64 {
	switch k.Cause {
	case cause.DeafReceiver:
		if k.Side == m.asks {
			return m.bits
		}
	case cause.ClockOff, cause.DriverDistortion: // a reply that another receiver does not take; clock and bias are evidence themselves
		if k.Side == m.answers {
			return behind(m.bits, 0)
		}
	case cause.TwoControllers:
		if m.schedules { // whose poll it was cannot be told
			return behind(m.bits, 0)
		}
		return behind(m.bits, never)
	case cause.WrongLink, cause.Addressing, cause.SpeedMismatch, cause.OtherCause:
		return behind(m.bits, hardly)
	case cause.ProbeArtefact:
		return behind(m.bits, never)
	case cause.LoopSupply: // too little current for a receiver, though the volts' swing can be read
		if m.j.in.Volts != nil && m.j.in.Volts.Loop {
			return behind(m.bits, rarely)
		}
	}
	if k.Cause.Family() == cause.Wiring && m.bits > hardly && m.j.pastTap(k.Cause) {
		return m.bits - rarely - 1 + math.Max(0, -m.loss[k]) // what this tap sees of the frames says nothing of the wire beyond
	}
	return 0
}

// pastTap tells whether a wiring fault can hurt the replies between the tap and the controller. The current of a loop is
// the same all along, but for what leaks or charges a cable. At the controller's own terminal the volts may be read where its receiver,
// which wants current, has too little of it, or it too late.
func (j *judge) pastTap(c cause.Cause) bool {
	asks := j.in.Facts.Senders[0].Side
	switch j.in.Tap {
	case capture.BoardPin:
		return false
	case capture.LoopCurrent:
		return c == cause.Leakage || c == cause.ExcessCapacitance
	case capture.IndoorTerminal:
		return asks != capture.Indoor || weakens(c)
	case capture.OutdoorTerminal:
		return asks != capture.Outdoor || weakens(c)
	}
	return true
}

// weakens tells whether a wiring fault takes current from a receiver, or delays it.
func weakens(c cause.Cause) bool {
	switch c {
	case cause.PoorJoint, cause.Leakage, cause.VoltageSag, cause.MainsHum, cause.ExcessCapacitance:
		return true
	}
	return false
}
