package validate

import (
	"math"
	"strings"

	"linewitness/decode/statistic"
)

// Distorted tells whether a fact is about where edges stand within their characters, beside the clock: what too few samples hide.
func Distorted(id string) bool { return strings.HasPrefix(id, "time.") && id != "time.clock" }

// timeFacts lists clock, bias, distortion and jitter, sender by sender.
func (f *Fold) timeFacts(dst []Fact) []Fact {
	for i := range f.Senders {
		s := &f.Senders[i]
		dst = append(dst, f.clockFact(s), s.biasFact(), s.isochronousFact())
		dst = f.jitterFacts(dst, i)
	}
	return dst
}

// clockFact is the sender's speed against the nominal one by a least-squares line through like edges within characters, in which
// bias cancels; normal interval from the residuals. A sound sender's clock may be off within its tolerance, so no P. Vector:
// check-values 2.3, third example.
func (f *Fold) clockFact(s *Sender) Fact {
	x := newFact("time.clock", s.Side, "ppm")
	if x.N = s.Fit.DoF; x.N <= 0 {
		x.Unmeasured = "no character of this sender has enough edges"
		return x
	}
	ppm, pm := s.SpeedPPM(f.p)
	if math.IsNaN(ppm) {
		x.Unmeasured = "no character of this sender has enough edges"
		return x
	}
	x.Value, x.Low, x.High = ppm, ppm-pm, ppm+pm
	return x
}

// biasFact is the median over frames of marks lengthened against spaces, the clock's part taken off, in per cent of the unit
// interval; distribution-free interval (see medianOf). Vector: check-values 2.3, first example.
func (s *Sender) biasFact() Fact {
	x := newFact("time.bias", s.Side, "%")
	medianOf(&x, &s.bias, 100, "no character of this sender has enough edges")
	if x.Measured() {
		off := s.BiasPct() - x.Value
		x.Value, x.Low, x.High = x.Value+off, x.Low+off, x.High+off
	}
	return x
}

// isochronousFact is the median over frames of the degree of isochronous distortion (largest less smallest displacement within the
// frame, from each character's start edge; FED-STD-1037C), in per cent; interval as of medianOf. Vector: check-values 2.3.
func (s *Sender) isochronousFact() Fact {
	x := newFact("time.isochronous", s.Side, "%")
	medianOf(&x, &s.iso, 100, "no whole frame of this sender was seen")
	return x
}

// medianOf gives a fact the median of a sketch times a scale, and its distribution-free interval: from the k-th value to the k-th
// from the top, with k the largest for which both binomial tails together stay within 5 % (W. R. Thompson, 1936); by the
// interval of a share of one half, Clopper and Pearson's, which is never narrower, or over 200 values Wilson's. Vectors:
// clopper_pearson_*, wilson_*.
func medianOf(x *Fact, s *Sketch, scale float64, why string) {
	if x.N = s.N(); x.N == 0 {
		x.Unmeasured = why
		return
	}
	n := int(x.N)
	share := statistic.ClopperPearson
	if n > 200 {
		share = statistic.Wilson
	}
	in := share(n/2, n, 0.95)
	v := s.percentiles(50, 100*in.Lower, 100*max(in.Upper, 1-in.Lower))
	if x.Value = scale * v[0]; n > 5 {
		x.Low, x.High = scale*v[1], scale*v[2]
	}
}
