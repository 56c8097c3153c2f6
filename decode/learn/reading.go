package learn

import (
	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// reading finds speed and format. Either: a part of the talk is only read the other way round.
func reading(t capture.Transitions, c capture.Clock, k Known) (best uart.Guessed, either bool, err error) {
	two := flat(t, k.spaces())
	guess := uart.Guess
	if k.Upright || k.Levels == 3 {
		guess = uart.GuessUpright
	}
	all, err := guess(two, c)
	if err != nil {
		return best, false, err
	}
	if best = all[0]; best.Broken*4 <= best.Characters {
		return best, false, nil
	}
	// More than a quarter breaks the best reading: no start-stop talk of one speed, or not of one polarity.
	if k.Kind != link.TwoWire {
		return best, false, uart.ErrNoTalk
	}
	if best, ok := mixed(t, c, k, all); ok {
		return best, true, nil
	}
	return best, false, uart.ErrNoTalk
}

// flat is t with two levels, high for mark.
func flat(t capture.Transitions, spaces uart.Spaces) capture.Transitions {
	if spaces == 0 || len(t.At) == 0 {
		return t
	}
	var two burst.Batch
	uart.Fold(&two, &burst.Batch{At: t.At, To: t.To, Bursts: []burst.Span{{To: len(t.At)}}}, spaces, capture.High)
	return capture.Transitions{At: two.At, To: two.To}
}

// mixed finds the guess that reads most where each burst may be read either way round.
func mixed(t capture.Transitions, c capture.Clock, k Known, all []uart.Guessed) (best uart.Guessed, ok bool) {
	least := 2.0
	for _, g := range all {
		g.Inverted = false
		chars := decode([]capture.Block{{Start: t.At[0], End: t.At[len(t.At)-1], Transitions: t}}, c, g.Line, k.spaces(), true)
		broken := 0
		for i := range chars {
			if chars[i].Fault&(uart.FaultStop|uart.FaultParity) != 0 {
				broken++
			}
		}
		if share := float64(broken) / float64(max(len(chars), 1)); share < least {
			least, best = share, g
		}
	}
	return best, least <= 0.25
}
