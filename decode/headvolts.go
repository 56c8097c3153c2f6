package decode

import (
	"slices"

	"linewitness/capture"
)

// Bounds of the samples that are kept of a head for the figures: before its first transition and from there on. They do not hang on
// how the recording was cut into blocks.
const (
	leadSamples = 1 << 12
	headSamples = 1 << 20
)

// headVolts picks the samples of a head's blocks that figures may want.
type headVolts struct {
	lead capture.Samples // the latest before the first transition
	kept int             // from there on
}

// pick returns a copy of those of a block; begun: the head has a transition already.
func (h *headVolts) pick(b *capture.Block, begun bool) (s capture.Samples) {
	at, volts := b.SampleAt, b.Volts
	if !begun {
		if b.Gap.Present() {
			h.lead = capture.Samples{}
		}
		n := len(at)
		if len(b.At) > 0 {
			n, _ = slices.BinarySearch(at, b.At[0])
		}
		h.before(at[:n], volts[:n])
		if len(b.At) == 0 {
			return s
		}
		s, h.lead = h.lead, capture.Samples{}
		at, volts = at[n:], volts[n:]
	}
	n := min(len(at), headSamples-h.kept)
	h.kept += n
	s.SampleAt, s.Volts = append(s.SampleAt, at[:n]...), append(s.Volts, volts[:n]...)
	return s
}

// before keeps the latest of what stands before the first transition.
func (h *headVolts) before(at []capture.Tick, volts []float64) {
	if over := len(at) - leadSamples; over > 0 {
		at, volts = at[over:], volts[over:]
	}
	if over := len(h.lead.SampleAt) + len(at) - leadSamples; over > 0 {
		h.lead.SampleAt = slices.Delete(h.lead.SampleAt, 0, over)
		h.lead.Volts = slices.Delete(h.lead.Volts, 0, over)
	}
	h.lead.SampleAt, h.lead.Volts = append(h.lead.SampleAt, at...), append(h.lead.Volts, volts...)
}
