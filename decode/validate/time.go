package validate

import (
	"math"

	"linewitness/decode/statistic"
)

// timeFacts lists clock, bias and isochronous distortion, sender by sender.
func (f *Fold) timeFacts(dst []Fact) []Fact {
	for i := range f.Senders {
		s := &f.Senders[i]
		dst = append(dst, f.clockFact(s), s.biasFact(), s.isochronousFact())
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
// Clopper-Pearson interval of a share of one half, which is never narrower. Vectors: clopper_pearson_*.
func medianOf(x *Fact, s *Sketch, scale float64, why string) {
	if x.N = s.N(); x.N == 0 {
		x.Unmeasured = why
		return
	}
	n := int(x.N)
	x.Value = scale * s.Percentile(50)
	if in := statistic.ClopperPearson(n/2, n, 0.95); n > 5 {
		x.Low = scale * s.Percentile(100*in.Lower)
		x.High = scale * s.Percentile(100*max(in.Upper, 1-in.Lower))
	}
}
