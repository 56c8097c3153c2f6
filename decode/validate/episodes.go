package validate

import (
	"linewitness/capture"
	"linewitness/decode/statistic"
)

// runs follows a row of frames of one sender, good and bad, and counts the runs of bad ones: its episodes of loss.
type runs struct {
	frames, bad int64
	episodes    Times // at the first bad frame of each
	inside      bool
	mended      []capture.Tick // the first good frame after each of the first 20
}

// frame takes the next frame.
func (r *runs) frame(bad bool, at capture.Tick) {
	r.frames++
	if bad {
		r.bad++
		if !r.inside {
			r.episodes.add(at)
		}
	}
	if r.inside && !bad && len(r.mended) < MostTimes {
		r.mended = append(r.mended, at)
	}
	r.inside = bad
}

// clustered is the exact probability of as few runs or fewer, if every order of these good and bad frames is as likely (W. L.
// Stevens, 1939; A. Wald and J. Wolfowitz, 1940): of n bad and m good frames, C(n-1,r-1) C(m+1,r) of the C(n+m,n) orders have r
// runs of bad ones, which is the hypergeometric law that Fisher's test sums. Vectors: those of fisher_*, and all orders counted.
func (r *runs) clustered() float64 {
	if r.bad == 0 {
		return 1
	}
	k, n, m := int(r.episodes.N), int(r.bad), int(r.frames-r.bad)
	return statistic.FisherExact(k, n-k, m+1-k, k-1, statistic.Less)
}
