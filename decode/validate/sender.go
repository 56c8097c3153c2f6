package validate

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// Sender holds the facts of one side.
type Sender struct {
	Side                                   capture.Side
	Frames, Good                           int64
	Checksum, Parity, Stop, Length, Timing Times  // frames that broke the rule
	Clean                                  Times  // clean bits, wrong checksum
	Dirty                                  Times  // bad frames whose bits are not clean
	Unframed                               Times  // bursts in this side's turn without a frame's shape
	Missing                                Times  // polls of the other side, good ones, that were not answered
	Late                                   Times  // replies later than the link allows
	Swapped                                Times  // frames that are whole only with mark and space exchanged
	Course                                 Course // of frames and unframed bursts; those only late are left out
	Fit                                    uart.Fit
	Turn                                   Sketch // seconds
	bias, lean, iso                        Sketch // of the unit interval; lean beside bias
}

// frame folds one whole frame into its sender.
func (s *Sender) frame(r *link.Frame, q *Quality, paused, swapped bool) {
	s.Frames++
	if swapped {
		s.Swapped.add(r.At)
	}
	s.Fit.Add(q.Fit)
	s.bias.Add(q.Bias)
	if q.Bias == q.Bias {
		s.lean.Add(q.Lean)
	}
	s.iso.Add(q.Iso)
	if r.OK() {
		s.Good++
		s.Course.add(false)
		return
	}
	for _, c := range [...]struct {
		why link.Why
		t   *Times
	}{{link.WhyChecksum, &s.Checksum}, {link.WhyParity, &s.Parity}, {link.WhyStop, &s.Stop}, {link.WhyLength, &s.Length}, {link.WhyTiming, &s.Timing}} {
		if r.Why&c.why != 0 {
			c.t.add(r.At)
		}
	}
	switch {
	case r.Why == link.WhyChecksum && !q.Dirty:
		s.Clean.add(r.At)
		s.Course.add(true)
	case r.Why == link.WhyTiming && !q.Dirty && !paused:
		// whole, only late: counted as such
	default:
		s.Dirty.add(r.At)
		s.Course.add(true)
	}
}

// SpeedPPM is the sender's speed against the nominal one, with the half width of its 95 % interval, in parts per
// million, positive = fast; NaN where nothing could be fitted.
func (s *Sender) SpeedPPM(p *link.Profile) (ppm, pm float64) {
	slope, stderr := s.Fit.Slope()
	if math.IsNaN(slope) {
		return slope, slope
	}
	return (p.Speed()/(1+slope)/p.Line.Speed - 1) * 1e6, 1.96e6 * stderr
}

// BiasPct is the median bias over frames with the clock's part taken off, in per cent of the unit interval.
func (s *Sender) BiasPct() float64 {
	b := s.bias.Percentile(50)
	if slope, _ := s.Fit.Slope(); !math.IsNaN(slope) && s.lean.N() > 0 {
		b -= slope * s.lean.Percentile(50)
	}
	return 100 * b
}

// IsoPct is the median degree of isochronous distortion within a frame, in per cent.
func (s *Sender) IsoPct() float64 { return 100 * s.iso.Percentile(50) }
