package validate

import (
	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/statistic"
)

const (
	bouncePulse  = 0.5  // unit intervals: no sender makes a pulse as short
	bounceNear   = 0.01 // s: contacts of relays and terminals have settled by then (common practice)
	lossLength   = 2    // characters: a longer space is no character
	lossOfBreaks = 4    // where frames begin with a break
)

// bounce looks for losses, spaces longer than any character, and for short pulses of either state within 10 ms of their ends: contacts
// bounce, a sender that is switched off or held does not.
type bounce struct {
	clock             capture.Clock
	mark              capture.Level
	either            bool // mark may be either level
	long, short, near capture.Tick

	known, space bool
	at           capture.Tick // the last change between mark and space
	pulse        capture.Tick // the end of the last short pulse, if any
	pulses       int64        // short ones away from losses
	seen         capture.Tick // time under watch
	began        bool         // the last loss began with bounce
	after        bool         // its end is still watched
	ended        capture.Tick
	lossAt       capture.Tick
	losses       Times
	of           [3]Times // losses with bounce at the beginning, at the end, at both
}

func newBounce(p *link.Profile, c capture.Clock) bounce {
	bit, chars := c.PerSecond()/p.Speed(), float64(lossLength)
	if p.Framing.Break {
		chars = lossOfBreaks
	}
	return bounce{clock: c, either: p.Either, mark: p.Line.Mark(), near: c.Ticks(bounceNear), short: capture.Tick(bouncePulse * bit),
		long: capture.Tick(chars * p.Line.Format.Length() * bit), pulse: -1 << 62}
}

// add takes the transitions of a burst; fresh: nothing is known of the time before.
func (b *bounce) add(at []capture.Tick, to []capture.Level, fresh bool) {
	if fresh {
		b.known, b.after, b.pulse = false, false, -1<<62
	}
	to = to[:len(at)]
	for i, t := range at {
		space := to[i] != b.mark
		if b.known && space == b.space {
			continue
		}
		// Most are bits: longer than a short pulse, shorter than a loss, and nothing to wait for.
		if w := t - b.at; b.known && !b.after && w >= b.short && w < b.long {
			b.seen += w
		} else if b.known {
			b.turn(t)
		}
		b.known, b.space, b.at = true, space, t
	}
}

// turn ends what stood since the last change.
func (b *bounce) turn(t capture.Tick) {
	width := t - b.at
	b.seen += width
	if b.after && b.at-b.ended > b.near {
		b.after = false
	}
	switch {
	case width < b.short:
		b.pulse = t
		if !b.after {
			b.pulses++
			return
		}
		b.after = false
		b.of[1].add(b.lossAt)
		if b.began {
			b.of[2].add(b.lossAt)
		}
	case b.space && width >= b.long:
		b.losses.add(b.at)
		b.began = b.at-b.pulse <= b.near
		if b.began {
			b.of[0].add(b.at)
			b.pulses-- // one at least belongs to the loss
		}
		b.lossAt, b.ended, b.after = b.at, t, true
	}
}

// facts are the rate of losses, with the exact interval of F. Garwood (1936), and the share of them with bounce at the beginning, the
// end, and both; exact interval (C. J. Clopper and E. S. Pearson, 1934), and the binomial probability of as many by the short pulses that
// come anyway. A loss that leaves the line at mark is not seen as one. Vector: losses with and without bounce.
func (b *bounce) facts(dst []Fact) []Fact {
	rate := newFact("errors.losses", capture.Line, "/h")
	hours := b.clock.Seconds(b.seen) / 3600
	if rate.N, rate.Times = b.losses.N, copied(b.losses); hours > 0 {
		r := statistic.RateOf(int(b.losses.N), hours, 0.95)
		rate.Value, rate.Low, rate.High = r.Value, r.Within.Lower, r.Within.Upper
	} else {
		rate.Unmeasured = "no talk was seen"
	}
	dst = append(dst, rate)
	chance := 0.
	if b.seen > 0 {
		chance = min(1, float64(max(b.pulses, 0)+1)*float64(b.near+b.short)/float64(b.seen))
	}
	for i, id := range [...]string{"errors.bounce-before", "errors.bounce-after", "errors.bounce-both"} {
		x := shareFact(id, capture.Line, b.of[i], b.losses.N, "the line was never at space for longer than a character")
		if p := chance; b.losses.N > 0 {
			if i == 2 {
				p *= p
			}
			x.P = statistic.BinomialTest(int(b.of[i].N), int(b.losses.N), p, statistic.Greater)
		}
		dst = append(dst, x)
	}
	for i := len(dst) - 4; b.either && i < len(dst); i++ {
		x := newFact(dst[i].ID, capture.Line, dst[i].Unit)
		x.Unmeasured = "the conductors of this pair may be exchanged: which level is mark is not known"
		dst[i] = x
	}
	return dst
}
