package validate

import (
	"math"

	"linewitness/capture"
)

const (
	supplyWindow  = 0.01 // s: half a cycle of 50 Hz
	supplyWarm    = 200  // windows from which the first references are taken: 2 s
	supplySettle  = 50   // windows of a state that shows later, before it has a reference
	supplySlide   = 60.  // s: time constant of the references, IEC 61000-4-30
	supplyCover   = 0.2  // share of a window that a state must fill
	supplyFull    = 0.8  // share from which a window counts as full
	supplyUnseen  = 0.5  // s without a judged window after which an event ends as it was last seen
	supplyForever = 60.  // s after which a fall is a new level, no dip
	supplyUnknown = 0.05 // relative scatter while none has been measured
	supplyScatter = 5.   // standard deviations of a state's own steady windows that a dip must exceed
	supplyMemory  = 1000 // windows over which that scatter is averaged
)

// SupplyFacts are dips of the loop's own supply so far. A steady low level, ripple and an open line are none.
type SupplyFacts struct {
	Dips DipEvents // of either state; what no other state contradicts is Both or Alone

	Both     int64 // seen in Mid and High: the supply
	Alone    int64 // only one state was on the line meanwhile: the supply or, in Mid, a joint
	MidOnly  int64 // Mid fell while High stood: not the supply but the loop's resistance, such as a poor joint
	HighOnly int64 // High fell while Mid stood
	Steps    int64 // falls that lasted over a minute and became the reference; not among the dips

	Windows int64   // judged: half cycles with Mid or High on the line
	Covered float64 // their share of the time since the first piece
	// Mid and High are the states' references, V, NaN where there is none yet; Scatter the relative standard deviation of steady
	// full windows.
	Mid, High               float64
	MidScatter, HighScatter float64
}

// Supply watches the loop's own supply in the powered states: each state's mean over 10 ms against its own slow reference.
// Low says nothing of the supply. Windows lie on a fixed grid, so that cuts between pieces do not matter; the first 2 s are
// judged once they are over, or with Flush.
type Supply struct {
	clock  capture.Clock
	window capture.Tick
	limits DipLimits
	guess  int
	now    supplyHalf
	origin int64
	begun  bool
	most   int64 // samples in the fullest window so far

	warm  []supplyHalf // nil once the references stand
	ready bool
	state [2]supplyState // Mid, High
	event supplyEvent
	facts SupplyFacts
	high  int64 // windows up to the last one closed
}

// supplyHalf sums the windows' samples: of Mid, of High, and of all.
type supplyHalf struct {
	index int64
	sum   [2]float64
	n     [2]int64
	all   int64
}

// NewSupply begins to watch; limits as for Dips (Reference and Slide are not used: the references always slide).
func NewSupply(c capture.Clock, limits DipLimits) *Supply {
	s := &Supply{clock: c, limits: limits.orUsual(), window: max(c.Ticks(supplyWindow), 1), warm: make([]supplyHalf, 0, supplyWarm)}
	for i := range s.state {
		s.state[i] = newSupplyState(s.limits)
	}
	return s
}

// Add takes the next piece.
func (s *Supply) Add(p Piece) {
	if p.Level < capture.Low || p.Level > capture.High {
		return
	}
	for i := 0; i < len(p.At); {
		if index := mainsFloor(int64(p.At[i]), int64(s.window)); !s.begun || index != s.now.index {
			s.closeWindow()
			s.now = supplyHalf{index: index}
			if !s.begun {
				s.begun, s.origin = true, index
			}
		}
		j := runUntil(p.At, i, capture.Tick(s.now.index+1)*s.window, s.guess)
		if k := int(p.Level) - int(capture.Mid); k >= 0 {
			s.now.sum[k] = supplySum(s.now.sum[k], p.Volts[i:j])
			s.now.n[k] += int64(j - i)
		}
		s.now.all += int64(j - i)
		s.guess, i = j-i, j
	}
}

// supplySum adds volts to a sum, in two chains.
func supplySum(sum float64, v []float64) float64 {
	var a, b float64
	for len(v) >= 4 {
		a += v[0] + v[1]
		b += v[2] + v[3]
		v = v[4:]
	}
	for _, x := range v {
		a += x
	}
	return sum + a + b
}

// closeWindow keeps the window in progress while the references are open, and judges it after.
func (s *Supply) closeWindow() {
	if !s.begun || s.now.all == 0 {
		return
	}
	s.most = max(s.most, s.now.all)
	s.high = s.now.index + 1
	if s.ready {
		s.judge(&s.now)
		return
	}
	if s.now.n != [2]int64{} {
		s.warm = append(s.warm, s.now)
	}
	if len(s.warm) == supplyWarm {
		s.settle()
	}
}

// settle takes the first references and judges what was kept until then.
func (s *Supply) settle() {
	s.ready = true
	for k := range s.state {
		for i := range s.warm {
			if v, cover := s.mean(&s.warm[i], k); cover >= supplyCover {
				s.state[k].learn(v, cover)
			}
		}
		if s.state[k].learned >= 3 {
			s.state[k].fix()
		}
	}
	for i := range s.warm {
		s.judge(&s.warm[i])
	}
	s.warm = s.warm[:0]
}

// Flush ends the recording: the window in progress, and the first 2 s where no more came, are judged.
func (s *Supply) Flush() {
	s.closeWindow()
	s.now.all = 0
	s.now.n = [2]int64{}
	if !s.ready && len(s.warm) > 0 {
		s.settle()
	}
}

// mean is a state's mean in a window, and the share of the window that it fills.
func (s *Supply) mean(h *supplyHalf, k int) (v, cover float64) {
	if h.n[k] == 0 {
		return math.NaN(), 0
	}
	if v = h.sum[k] / float64(h.n[k]); v-v != 0 {
		return v, 0
	}
	return v, float64(h.n[k]) / float64(s.most)
}

// Facts are the facts so far; a dip that has not ended is among them.
func (s *Supply) Facts() SupplyFacts {
	f := s.facts
	f.Dips = f.Dips.with(&dipWatch{})
	if s.event.in {
		f.count(&s.event, true)
	}
	if n := s.high - s.origin; n > 0 {
		f.Covered = float64(f.Windows) / float64(n)
	}
	f.Mid, f.High = s.state[0].reference, s.state[1].reference
	f.MidScatter, f.HighScatter = math.Sqrt(s.state[0].scatter[1]), math.Sqrt(s.state[1].scatter[1])
	return f
}
