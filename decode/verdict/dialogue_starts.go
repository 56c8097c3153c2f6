package verdict

import (
	"fmt"
	"math"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// What starts of a unit are worth: one may be somebody who switched it on; a unit that restarts does so every few minutes,
// so that a recording without a start says little until it is long. Assumptions with no source.
const (
	oneStart    = 1.0
	nextStart   = 4.0
	startsEvery = 300 // s
	afterDip    = 5.0 // s within which a unit starts again after a dip of its supply
)

// startBits is what so many starts in so many seconds say of a unit that keeps restarting.
func startBits(n int64, seconds float64) float64 {
	if n == 0 {
		return math.Max(-never, -math.Log2(1+seconds/startsEvery))
	}
	return math.Min(mostTalk, oneStart+nextStart*float64(n-1))
}

// restarts weighs the starts of one side: its own fault, or its mains'.
func (j *judge) restarts(d *validate.Dialogue, i int) {
	starts, resets := &d.Starts[i], &d.Resets[i]
	if !(starts.Measured && starts.Of > 0) && !(resets.Measured && resets.Of > 0) {
		return
	}
	n := starts.N + resets.N
	side := j.in.Facts.Senders[i].Side
	at := firstOf(starts.At, resets.At)
	b := startBits(n, d.Seconds)
	dips, judged := j.dipsBefore(at)
	says := fmt.Sprintf("%s started %d times: %d times by a frame that is sent only then, %d times by a counter that began anew",
		SideName(side), n, starts.N, resets.N)
	if n == 0 {
		says = fmt.Sprintf("%s did not start in %.0f s", SideName(side), d.Seconds)
	} else if judged {
		says += fmt.Sprintf("; before %d of the first %d the supply dipped", dips, len(at))
	}
	if n > 0 && d.Together.N > 0 {
		says += fmt.Sprintf("; %d times the other unit started with it", d.Together.N)
	}
	m := &starting{side: side, bits: b, judged: judged, dipped: n > 0 && judged && 2*dips >= len(at), together: n > 0 && 2*d.Together.N >= n}
	j.say("restarts-"+side.String(), says, float64(n), "count", at, m.of)
}

// starting is what a side's starts say.
type starting struct {
	side                     capture.Side
	bits                     float64
	judged, dipped, together bool // dips would be seen; there were dips before most; the other side started with most
}

// of are the bits that the starts give a candidate.
func (m *starting) of(k Key) float64 {
	switch {
	case k.Cause == cause.VoltageSag && m.dipped:
		return behind(m.bits, 0)
	case k.Cause == cause.VoltageSag && m.judged: // it would have been seen
		return 0
	case (k.Cause == cause.VoltageSag || k.Cause == cause.NoPower) && m.together: // their common mains, or a contact in it
		return behind(m.bits, 1)
	case k.Cause == cause.VoltageSag:
		return behind(m.bits, rarely)
	case k.Cause == cause.OtherCause:
		return behind(m.bits, hardly)
	case k.Side != m.side:
		return 0
	case k.Cause == cause.Restarts && (m.dipped || m.together):
		return math.Min(m.bits, 0)
	case k.Cause == cause.Restarts:
		return m.bits
	case k.Cause == cause.NoPower: // a contact in its mains that comes and goes
		return behind(m.bits, rarely)
	case k.Cause == cause.LoopSupply:
		return behind(m.bits, hardly)
	}
	return 0
}

// dipsBefore is how many of the instants come within seconds of a dip of the supply; judged: dips would have been seen.
func (j *judge) dipsBefore(at []capture.Tick) (n int, judged bool) {
	v := j.in.Volts
	if v == nil || v.Dropped != "" || math.IsNaN(v.Judged) || v.Judged < 0.5 || j.in.Second <= 0 {
		return 0, false
	}
	for _, t := range at {
		for _, s := range v.DipSpans {
			if t >= s.From && float64(t-s.To) <= afterDip*j.in.Second {
				n++
				break
			}
		}
	}
	return n, true
}
