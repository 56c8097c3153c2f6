package validate

import (
	"math"
	"slices"

	"linewitness/capture"
)

// supplyState is one powered state: its reference, its scatter while steady, and the dip it may be in.
type supplyState struct {
	reference float64                // V; NaN: none yet
	scatter   [2]float64             // variance of relative window means, see supplyPart
	windows   [2]int64               // that it is of
	heads     [supplyWarm][2]float64 // mean and cover of the first windows
	learned   int
	watch     dipWatch
	seen      capture.Tick // end of the last judged window
	updated   capture.Tick // start of the last window that the reference followed
}

func newSupplyState(l DipLimits) supplyState {
	return supplyState{reference: math.NaN(), watch: dipWatch{start: l.Dip, end: l.Dip + l.Hysteresis}}
}

// learn keeps a window's mean for the first reference.
func (s *supplyState) learn(v, cover float64) {
	if s.learned < len(s.heads) {
		s.heads[s.learned] = [2]float64{v, cover}
		s.learned++
	}
}

// fix takes the median of what was kept as reference and its scaled median deviation as scatter: a dip shorter than half of it
// does not shift them.
func (s *supplyState) fix() {
	var v [supplyWarm]float64
	for i, h := range s.heads[:s.learned] {
		v[i] = h[0]
	}
	s.reference = supplyMedian(v[:s.learned])
	if math.Abs(s.reference) < 1e-9 {
		s.reference = math.NaN()
	}
	for class := range s.scatter {
		n := 0
		for _, h := range s.heads[:s.learned] {
			if c, part := supplyPart(h[1]); c == class {
				v[n] = math.Abs(h[0]/s.reference-1) / part
				n++
			}
		}
		s.windows[class], s.scatter[class] = int64(n), supplyUnknown*supplyUnknown
		if n >= 3 {
			d := 1.4826 * supplyMedian(v[:n]) // scaled to a normal distribution, statistics.json
			s.scatter[class] = d * d
		}
	}
	s.learned = 0
}

func supplyMedian(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)/2]
}

// supplyPart is the class of a window, 1 for full ones, and what its deviation is measured in: a window that is filled in part
// shows ripple in proportion to what is missing.
func supplyPart(cover float64) (class int, part float64) {
	if cover >= supplyFull {
		return 1, 1
	}
	return 0, 1 - cover
}

// value is a window's mean relative to the reference; 1 where it deviates by no more than steady windows do.
func (s *supplyState) value(v, cover float64) float64 {
	x := v / s.reference
	variance := s.scatter[1]
	if class, part := supplyPart(cover); class == 0 {
		variance = part * part * s.scatter[0]
	}
	if x > 0 && math.Abs(x-1) <= supplyScatter*math.Sqrt(variance) {
		return 1
	}
	return x
}

// follow lets reference and scatter follow a steady window; what deviates far counts as three standard deviations.
func (s *supplyState) follow(c capture.Clock, from capture.Tick, v, cover float64) {
	dt := min(c.Seconds(from-s.updated), 1)
	s.updated = from
	class, part := supplyPart(cover)
	x := (v/s.reference - 1) / part
	old := &s.scatter[class]
	s.windows[class] = min(s.windows[class]+1, supplyMemory)
	*old += (min(x*x, 9**old+1e-8) - *old) / float64(s.windows[class])
	s.reference -= (v - s.reference) * math.Expm1(-max(dt, 0)/supplySlide) * cover
}

// supplyEvent is a dip of either state or both, joined. fell are windows of Mid and High beyond the threshold; stood
// are those that stood between two of the other state's that were, maybe those of which that is not known yet.
type supplyEvent struct {
	in                 bool
	event              DipEvent
	fell, stood, maybe [2]int64
}

// judge takes a window whose samples are all in.
func (s *Supply) judge(h *supplyHalf) {
	from := capture.Tick(h.index) * s.window
	to := from + s.window
	judged := false
	var value [2]float64
	s.lapse(from)
	for k := range s.state {
		st := &s.state[k]
		v, cover := s.mean(h, k)
		value[k] = math.NaN()
		if cover < supplyCover {
			continue
		}
		if st.reference != st.reference {
			if !s.event.in {
				if st.learn(v, cover); st.learned == supplySettle {
					st.fix()
				}
			}
			continue
		}
		judged = true
		value[k] = st.value(v, cover)
		s.step(k, from, to, value[k])
		if !s.event.in {
			st.follow(s.clock, from, v, cover)
		}
	}
	if judged {
		s.facts.Windows++
	}
	s.close(from, to, value)
}

// lapse ends the dip of a state that was not seen for long before from.
func (s *Supply) lapse(from capture.Tick) {
	lapsed := false
	for k := range s.state {
		if st := &s.state[k]; st.watch.in && s.clock.Seconds(from-st.seen) > supplyUnseen {
			st.watch.in, lapsed = false, true
		}
	}
	if lapsed && !s.state[0].watch.in && !s.state[1].watch.in {
		s.event.event.Open = true
		s.end()
	}
}

// step takes a state's value in a window.
func (s *Supply) step(k int, from, to capture.Tick, value float64) {
	w, e := &s.state[k].watch, &s.event
	s.state[k].seen = to
	w.step(from, to, value)
	if w.in && !e.in {
		*e = supplyEvent{in: true, event: w.event}
	}
	if !e.in {
		return
	}
	if value < w.start {
		e.fell[k]++
		e.stood[1-k] += e.maybe[1-k]
		e.maybe[1-k] = 0
	} else if value >= w.end && from > e.event.Start {
		e.maybe[k]++
	}
	d := &e.event
	if value < d.Residual {
		d.Residual, d.Worst, d.Recovered = value, to, 0
	}
}

// close ends the joined event once no state is in a dip any more. A state that is not on the line at the moment has recovered
// with the other.
func (s *Supply) close(from, to capture.Tick, value [2]float64) {
	e := &s.event
	if !e.in {
		return
	}
	for k := range s.state {
		other := &s.state[1-k]
		// What fell and is back tells that the supply is back; what never fell tells nothing of the other.
		if value[k] >= s.state[k].watch.end && e.fell[k] > 0 && !s.state[k].watch.in && value[1-k] != value[1-k] {
			other.watch.in = false
		}
		if value[k] == value[k] && (e.fell[k] > 0 || value[k] < s.limits.Dip) {
			e.event.End = to
			if value[k] < s.limits.Dip {
				e.event.Recovered = 0
			} else if e.event.Recovered == 0 {
				e.event.Recovered = to
			}
		}
	}
	in := s.state[0].watch.in || s.state[1].watch.in
	switch {
	case !in:
		s.end()
	case s.clock.Seconds(to-e.event.Start) > supplyForever:
		s.facts.Steps++
		e.in = false
		for k := range s.state {
			s.state[k].watch.in = false
			if e.fell[k] > 0 {
				s.state[k].reference = math.NaN()
			}
		}
	}
}

// end counts the joined event once the last state is out of it.
func (s *Supply) end() {
	if s.event.in && !s.state[0].watch.in && !s.state[1].watch.in {
		s.facts.count(&s.event, false)
		s.event.in = false
	}
}

// count adds an event to the facts.
func (f *SupplyFacts) count(e *supplyEvent, open bool) {
	d := e.event
	d.Open = d.Open || open
	f.Dips.add(d)
	switch {
	case e.fell[0] > 0 && e.fell[1] > 0:
		f.Both++
	case e.fell[0] > 0 && e.stood[1] > 0:
		f.MidOnly++
	case e.fell[1] > 0 && e.stood[0] > 0:
		f.HighOnly++
	default:
		f.Alone++
	}
}
