package verdict

import (
	"math"

	"linewitness/decode/statistic"
	"linewitness/decode/validate"
)

// soundRate is the prior of the rate at which a sound line loses frames: Beta(1, 200), in the mean one in 200. It is an
// assumption of this first form, with no source; the rates of faults are uniform, which assumes nothing.
const soundA, soundB = 1.0, 200.0

// lost counts one sender's frames, or one kind of event: good ones and the bad ones by kind.
type lost struct {
	good, clean, dirty float64
	course             validate.Course // the order of them
}

func (l lost) bad() float64 { return l.clean + l.dirty }

// kinds says which kinds of loss a cause can make.
type kinds uint8

const (
	clean kinds = 1 << iota
	dirty
)

func lgamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}

// betaBinomial is ln of the marginal likelihood of k losses and n others in a stated order where the rate is Beta(a, b).
func betaBinomial(k, n, a, b float64) float64 {
	return lgamma(a+k) + lgamma(b+n) - lgamma(a+b+k+n) + lgamma(a+b) - lgamma(a) - lgamma(b)
}

// logSound is ln of the likelihood of one sender's frames while nothing acts on it.
func (l lost) logSound() float64 {
	return betaBinomial(l.bad(), l.good, soundA, soundB) + l.logSplit(0.3, 0.7, 0)
}

// logSplit is ln of the likelihood of how the losses are of two kinds: in any proportion, or of one kind only, in these shares.
func (l lost) logSplit(any, dirty, clean float64) float64 {
	one := func(none float64) float64 {
		if none > 0 {
			return math.Inf(-1)
		}
		return 0
	}
	return logMix([]float64{any, dirty, clean}, []float64{betaBinomial(l.clean, l.dirty, 1, 1), one(l.clean), one(l.dirty)})
}

// logHit is ln of the likelihood while a cause that makes losses of the given kinds acts: its rate and how it splits
// between the kinds are unknown and uniform, their order is of its course; what it can't make happens as on a sound line. A lasting
// cause loses everything in half of its cases.
func (l lost) logHit(k kinds, e effect) float64 {
	can, not, split := l.bad(), 0.0, l.logSplit(0.4, 0.6, 0) // noise seldom leaves clean bits
	if e.shapes {
		split = l.logSplit(0.4, 0.3, 0.3)
	}
	switch k {
	case clean:
		can, not, split = l.clean, l.dirty, 0
	case dirty:
		can, not, split = l.dirty, l.clean, 0
	case 0:
		return l.logSound()
	}
	rate := betaBinomial(can, l.good, 1, 1)
	if not == 0 {
		rate = l.logCourse(courseOf(e.cause))
	}
	if e.lasting {
		always := math.Inf(-1)
		if l.good == 0 {
			always = 0
		}
		rate = logMean([]float64{rate, always})
	}
	rest := 0.0
	if k != clean|dirty {
		rest = betaBinomial(not, l.good+can, soundA, soundB)
	}
	return rate + split + rest
}

// logMean is ln of the mean of exp(x).
func logMean(x []float64) float64 {
	top := math.Inf(-1)
	for _, v := range x {
		top = math.Max(top, v)
	}
	if math.IsInf(top, -1) {
		return top
	}
	sum := 0.0
	for _, v := range x {
		sum += math.Exp(v - top)
	}
	return top + math.Log(sum/float64(len(x)))
}

// Wilson is the score interval of k out of n at 95 % (Wilson 1927; Newcombe 1998), NaN for n = 0.
func Wilson(k, n float64) (low, high float64) {
	if n <= 0 {
		return math.NaN(), math.NaN()
	}
	i := statistic.Wilson(int(math.Round(k)), int(math.Round(n)), 0.95)
	return i.Lower, i.Upper
}
