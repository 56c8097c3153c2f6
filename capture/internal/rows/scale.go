package rows

import (
	"errors"
	"fmt"
	"math"
	"math/bits"
	"strconv"

	"linewitness/capture"
)

// ErrInexact is in the error of an instant that a format cannot hold and nobody allowed to round.
var ErrInexact = errors.New("it would have to be rounded")

// scale turns ticks of a clock into whole units, num/den units a tick in lowest terms.
type scale struct {
	clock    capture.Clock
	unit     string
	num, den uint64
	round    bool
	most     uint64 // what rounding moved at most, in units/den
}

// newScale counts units, per a second of them, for ticks of c.
func newScale(c, per capture.Clock, unit string, round bool) (scale, error) {
	if !c.Valid() || !per.Valid() {
		return scale{}, fmt.Errorf("expected a clock of positive terms, found %d/%d", c.Num, c.Den)
	}
	// Crosswise first, so that the products are as small as can be.
	g, h := gcd(per.Num, c.Num), gcd(per.Den, c.Den)
	hiNum, num := bits.Mul64(uint64(per.Num/g), uint64(c.Den/h))
	hiDen, den := bits.Mul64(uint64(per.Den/h), uint64(c.Num/g))
	if hiNum > 0 || hiDen > 0 || den > math.MaxInt64 {
		return scale{}, fmt.Errorf("expected a clock that can be counted in %s, found %d/%d ticks a second", unit, c.Num, c.Den)
	}
	k := gcd(int64(min(num, math.MaxInt64)), int64(den))
	if num <= math.MaxInt64 {
		num, den = num/uint64(k), den/uint64(k)
	}
	return scale{clock: c, unit: unit, num: num, den: den, round: round}, nil
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// of is t in units, halves away from zero.
func (s *scale) of(t capture.Tick) (int64, error) {
	if s.num == 1 && s.den == 1 {
		return int64(t), nil
	}
	size := uint64(t)
	if t < 0 {
		size = -size
	}
	hi, lo := bits.Mul64(size, s.num)
	if hi >= s.den {
		return 0, s.tooFar(t)
	}
	n, rest := bits.Div64(hi, lo, s.den)
	if rest > 0 {
		if !s.round {
			return 0, fmt.Errorf("expected an instant of whole %s, found %s on a clock of %s ticks a second: %w",
				s.unit, seconds(s.clock, t), perSecond(s.clock), ErrInexact)
		}
		if rest >= s.den-rest {
			n++
			rest = s.den - rest
		}
		s.most = max(s.most, rest)
	}
	if n > math.MaxInt64 {
		return 0, s.tooFar(t)
	}
	if t < 0 {
		return -int64(n), nil
	}
	return int64(n), nil
}

func (s *scale) tooFar(t capture.Tick) error {
	return fmt.Errorf("expected an instant of less than 2^63 %s, found %s", s.unit, seconds(s.clock, t))
}

// moved is what rounding moved an instant at most, in units.
func (s *scale) moved() float64 { return float64(s.most) / float64(s.den) }

func perSecond(c capture.Clock) string {
	if c.Den == 1 {
		return strconv.FormatInt(c.Num, 10)
	}
	return fmt.Sprintf("%d/%d", c.Num, c.Den)
}

func seconds(c capture.Clock, t capture.Tick) string {
	return strconv.FormatFloat(c.Seconds(t), 'f', -1, 64) + " s"
}
