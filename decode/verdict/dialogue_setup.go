package verdict

import (
	"fmt"
	"math"

	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// schedules: polls that keep one period each, one between the other's. A second controller with a period of its own makes
// few of them: that there are none says little.
func (j *judge) schedules(d *validate.Dialogue) {
	c := &d.Interleaved
	if !c.Measured || c.Of == 0 {
		return
	}
	b := math.Max(-rarely, talkBits(c, 0))
	if talkBits(&d.Elsewhere, 0) > 0 {
		b = math.Max(0, b)
	}
	if b > 0 {
		b *= j.whole() // who sends a damaged frame, and when it began, is not sure
	}
	again := d.Ignored.Measured && 3*d.Ignored.N > c.N
	asks := j.in.Facts.Senders[0].Side
	says := fmt.Sprintf("%d of %d polls keep the period of the poll before the last one: two schedules stand side by side", c.N, c.Of)
	if c.N == 0 {
		says = fmt.Sprintf("none of %d polls keeps another schedule than the poll before it", c.Of)
	}
	j.talk("two-schedules", says, c, func(k Key) float64 {
		switch k.Cause {
		case cause.TwoControllers:
			return b
		case cause.DeafReceiver:
			switch {
			case k.Side != asks:
			case again: // repetitions may stand just there
				return behind(b, 1)
			default:
				return behind(b, never)
			}
		case cause.WrongLink: // whose controller polls in turn
			return behind(b, rarely)
		case cause.OtherCause:
			return behind(b, hardly)
		}
		return 0
	})
}

// whole is the share of good frames.
func (j *judge) whole() float64 {
	good, all := 0.0, 0.0
	for i := range j.in.Facts.Senders {
		s := &j.in.Facts.Senders[i]
		good, all = good+float64(s.Good), all+float64(s.Frames+s.Unframed.N)
	}
	if all == 0 {
		return 0
	}
	return math.Min(1, good/all)
}

// elsewhere: a controller's frame at the level of space that is the responder's. Where all of them stand there, the profile
// has the feeding unit wrong, or the tap shows it so: nothing follows.
func (j *judge) elsewhere(d *validate.Dialogue) {
	c := &d.Elsewhere
	if !c.Measured || c.N == 0 {
		return
	}
	b := talkBits(c, 0)
	if 5*c.N > 4*c.Of || c.Of-c.N < 3 {
		b = 0
	}
	says := fmt.Sprintf("%d of %d frames of the controller's kinds stand at the level of space of %s",
		c.N, c.Of, SideName(j.in.Facts.Senders[1].Side))
	j.talk("controller-elsewhere", says, c, func(k Key) float64 {
		switch k.Cause {
		case cause.TwoControllers:
			return behind(b, 0)
		case cause.Crosstalk, cause.ReversedConductors, cause.WrongLink:
			return behind(b, rarely+1)
		case cause.OtherCause:
			return behind(b, hardly)
		}
		return 0
	})
}

// overlaps: frames over each other, and polls while a reply is due. Late replies make them as well as a second talker does.
func (j *judge) overlaps(d *validate.Dialogue) {
	c := &d.Overlaps
	if !c.Measured || c.N == 0 {
		return
	}
	b := math.Min(never, talkBits(c, 0))
	says := fmt.Sprintf("%d of %d frames began while another ran or a reply was due", c.N, c.Of)
	answers := j.in.Facts.Senders[1].Side
	j.talk("overlaps", says, c, func(k Key) float64 {
		switch k.Cause {
		case cause.TwoControllers, cause.Addressing:
			return behind(b, 0)
		case cause.LateReplies:
			if k.Side == answers {
				return behind(b, 0)
			}
		case cause.Crosstalk, cause.WrongLink:
			return behind(b, 1)
		case cause.OtherCause:
			return behind(b, 2)
		}
		return 0
	})
}

// addresses: replies from another unit than was asked, and two to one poll. Either shows a wrong address: that one of the
// two is missing says nothing where the other is there.
func (j *judge) addresses(d *validate.Dialogue) {
	for _, r := range []struct {
		id, what string
		c        *validate.Count
	}{
		{"foreign-replies", "good replies came from another address than was asked", &d.Foreign},
		{"double-replies", "answered polls had a second reply", &d.Doubled},
	} {
		if !r.c.Measured || r.c.Of == 0 {
			continue
		}
		b := math.Max(-rarely, talkBits(r.c, 0))
		if talkBits(&d.Foreign, 0) > 0 || talkBits(&d.Doubled, 0) > 0 {
			b = math.Max(0, b)
		}
		answers := j.in.Facts.Senders[1].Side
		j.talk(r.id, fmt.Sprintf("%d of %d %s", r.c.N, r.c.Of, r.what), r.c, func(k Key) float64 {
			switch k.Cause {
			case cause.Addressing:
				return b
			case cause.TwoControllers, cause.Crosstalk:
				return behind(b, rarely)
			case cause.LateReplies:
				if k.Side == answers {
					return behind(b, rarely+1)
				}
			case cause.WrongLink, cause.ReversedConductors:
				return behind(b, rarely+1)
			case cause.OtherCause:
				return behind(b, hardly)
			}
			return 0
		})
	}
}

// addressed: what becomes of a poll depends on the address that it goes to. A unit of several that is off, or has no address of
// its own, makes that; what acts on the line or on the controller does not choose.
func (j *judge) addressed() {
	all := j.in.Facts.Asked
	if len(all) < 2 {
		return
	}
	apart, sum := 0.0, [3]float64{}
	missing := true // the addresses differ in no more than replies that are missing
	n := 0.0
	for i := range all {
		k := [3]float64{float64(all[i].Good), float64(all[i].Bad), float64(all[i].Missing)}
		apart += dirichlet(k)
		for c := range k {
			sum[c] += k[c]
			n += k[c]
		}
		missing = missing && 2*k[1] <= k[0]
	}
	b := math.Max(-1, math.Min(mostTalk, bits(apart-dirichlet(sum))))
	if n == 0 || sum[1]+sum[2] == 0 {
		return
	}
	says := fmt.Sprintf("what becomes of a poll depends on the address asked (%d addresses)", len(all))
	if b <= 0 {
		says = fmt.Sprintf("what becomes of a poll does not depend on the address asked (%d addresses)", len(all))
	}
	answers := j.in.Facts.Senders[1].Side
	j.say("by-address", says, float64(len(all)), "addresses", nil, func(k Key) float64 {
		switch k.Cause {
		case cause.Addressing:
			return b
		case cause.SilentSender, cause.NoPower:
			if missing && k.Side == answers { // one unit of several
				return behind(b, 1)
			}
		case cause.OpenConductor: // its stub
			if missing {
				return behind(b, 1)
			}
		case cause.WrongLink, cause.SpeedMismatch, cause.TwoControllers:
			return behind(b, hardly)
		}
		return 0
	})
}

// dirichlet is ln of the marginal likelihood of counts of three kinds in a stated order, their shares being Dirichlet(1/2, 1/2, 1/2).
func dirichlet(k [3]float64) float64 {
	const a = 0.5
	v, n := lgamma(3*a)-3*lgamma(a), 0.0
	for _, x := range k {
		v += lgamma(a + x)
		n += x
	}
	return v - lgamma(3*a+n)
}
