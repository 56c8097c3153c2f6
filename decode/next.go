package decode

import (
	"linewitness/capture"
	"linewitness/decode/check"
	"linewitness/decode/verdict"
)

// next ranks the checks for what is still open.
func next(all []verdict.Candidate, tap capture.Tap) []check.Ranked {
	in := make([]check.Candidate, len(all))
	for i, c := range all {
		in[i] = check.Candidate{Cause: c.Cause, Side: c.Side.String(), Probability: c.Probability}
	}
	return check.For(in, tap.String())
}
