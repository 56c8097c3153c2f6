package validate

import (
	"math"
	"slices"

	"linewitness/capture"
)

// learn takes one of the samples that teach a level, by median and median deviation so that a spike among them is harmless.
func (t *levelTrack) learn(l *trackedLevel, v float64) {
	if l.teach = append(l.teach, v); len(l.teach) < trackChunk {
		return
	}
	slices.Sort(l.teach)
	l.ref = (l.teach[trackChunk/2-1] + l.teach[trackChunk/2]) / 2
	for i, x := range l.teach {
		l.teach[i] = math.Abs(x - l.ref)
	}
	slices.Sort(l.teach)
	l.noise = math.Pow(1.4826*l.teach[trackChunk/2], 2) // of a normal distribution
	l.sigmas = spikeSigmas * math.Sqrt(l.noise)
	l.teach = l.teach[:0]
	l.known, t.settled, t.lost, l.k, l.s, l.q = true, true, 0, 0, 0, 0
	if l.chunks == 0 {
		l.mean, l.chunks = l.ref, 1
	}
	t.limits()
}

// renew moves a level to the mean of the last chunk.
func (t *levelTrack) renew(l *trackedLevel) {
	m := l.s * t.each
	v := (l.q - l.s*m) * t.free
	l.chunks++
	l.ref += m
	weight, drift := 1./trackNoise, t.drift
	if l.chunks < t.slow {
		drift = max(drift, 1/float64(l.chunks))
		weight = max(weight, 1/float64(l.chunks))
	}
	l.noise += (max(v, 0) - l.noise) * weight
	l.mean += max(min(l.ref-l.mean, spikePart*t.sep), -spikePart*t.sep) * drift
	l.k, l.s, l.q = 0, 0, 0
	if l.chunks < 32 || l.chunks%8 == 0 {
		l.sigmas = spikeSigmas * math.Sqrt(l.noise)
		t.limits()
	}
}

// limits renews separation, limits and thresholds. Low is 0 V where it was not seen.
func (t *levelTrack) limits() {
	low, mid, high := &t.of[capture.Low], &t.of[capture.Mid], &t.of[capture.High]
	t.sep, t.lowest, t.highest = math.Inf(1), math.Inf(-1), math.Inf(1)
	t.bottom, t.top = low.mean, high.mean
	if mid.chunks > 0 {
		t.sep = math.Abs(mid.mean - t.bottom)
	}
	if high.chunks > 0 {
		next := t.bottom
		if mid.chunks > 0 {
			next = mid.mean
		}
		t.sep = min(t.sep, math.Abs(high.mean-next))
	} else {
		t.top = mid.mean
	}
	t.up = t.top >= t.bottom
	if t.sep < math.Inf(1) {
		t.lowest, t.highest = min(t.top, t.bottom)-beyondPart*t.sep, max(t.top, t.bottom)+beyondPart*t.sep
	}
	if high.chunks == 0 { // nothing is known of that side
		if t.up {
			t.highest = math.Inf(1)
		} else {
			t.lowest = math.Inf(-1)
		}
	}
	for i := range t.of {
		if l := &t.of[i]; l.known {
			l.half = max(l.sigmas, spikePart*t.sep) / 2
		}
	}
}
