package validate

import (
	"math"

	"linewitness/capture"
)

// Swing looks for times at which the whole line swings with the mains, whatever its levels are taken for: hum so large that it crosses
// them is read as transitions, and no state has it any more. Windows of 0.2 s hold ten periods of 50 Hz and twelve of 60 Hz (IEC
// 61000-4-30, 4.4); one swings if sines at the mains frequency and its first harmonics make nine tenths of its variance.
type Swing struct {
	clock capture.Clock
	cell  capture.Tick // of which the means are taken
	from  capture.Tick // where the window begins
	begun bool
	n     [swingCells]int32
	sum   [swingCells]float64
	seen  Swings
	size  [2]Sketch // V, at the frequency and at twice it
	mean  Sketch
}

// Swings are the windows so far.
type Swings struct {
	Windows, Swinging int64 // those of enough samples; those of them that swing
	Times             Times // of the swinging ones
	// Volts and Twice are the medians over swinging windows of the amplitude at the mains frequency and at twice it, Mean that of what
	// they swing about, V. NaN: none swings.
	Volts, Twice, Mean float64
}

const (
	swingWindow = 0.2 // s
	swingCells  = 256 // a window
	swingTones  = 4   // f, 2 f, 3 f, 4 f
	swingPart   = 0.9 // of the variance
)

// NewSwing begins a recording.
func NewSwing(c capture.Clock) *Swing {
	return &Swing{clock: c, cell: c.Ticks(swingWindow / swingCells)}
}

// Add takes the next block's samples. least is the amplitude from which on a swing counts, V.
func (s *Swing) Add(b *capture.Block, least float64) {
	if s.cell < 1 {
		return
	}
	if b.Gap.Present() {
		s.begun = false
	}
	for i := 0; i < len(b.SampleAt); {
		at := b.SampleAt[i]
		if !s.begun {
			s.begun, s.from = true, at
			s.clear()
		}
		k := (at - s.from) / s.cell
		if k < 0 || k >= swingCells {
			s.close(least)
			s.from += swingCells * s.cell
			if k >= 2*swingCells || k < 0 {
				s.from = at
			}
			s.clear()
			continue
		}
		end := s.from + (k+1)*s.cell
		sum, j := 0.0, i
		for ; j < len(b.SampleAt) && b.SampleAt[j] < end; j++ {
			sum += b.Volts[j]
		}
		s.n[k] += int32(j - i)
		s.sum[k] += sum
		i = j
	}
}

func (s *Swing) clear() { s.n, s.sum = [swingCells]int32{}, [swingCells]float64{} }

// close judges the window.
func (s *Swing) close(least float64) {
	var x [swingCells]float64
	mean := 0.0
	for i := range x {
		if s.n[i] == 0 {
			return // samples stand too far apart, or some are missing
		}
		x[i] = s.sum[i] / float64(s.n[i])
		mean += x[i] / swingCells
	}
	all := 0.0
	for i := range x {
		x[i] -= mean
		all += x[i] * x[i] / swingCells
	}
	s.seen.Windows++
	if all < least*least/2 {
		return
	}
	for _, periods := range [...]int{10, 12} { // of 50 and 60 Hz
		var tone [swingTones]float64
		sum := 0.0
		for h := range tone {
			tone[h] = amplitude(&x, (h+1)*periods)
			sum += tone[h] * tone[h] / 2
		}
		if sum < swingPart*all || max(tone[0], tone[1]) < least {
			continue
		}
		s.seen.Swinging++
		s.seen.Times.add(s.from)
		s.size[0].Add(tone[0])
		s.size[1].Add(tone[1])
		s.mean.Add(mean)
		return
	}
}

// amplitude is that of a sine of so many periods in the window.
func amplitude(x *[swingCells]float64, periods int) float64 {
	turn := 2 * math.Pi * float64(periods) / swingCells
	back := 2 * math.Cos(turn)
	var a, b float64 // G. Goertzel's recursion (1958)
	for _, v := range x {
		a, b = v+back*a-b, a
	}
	return 2 * math.Sqrt(max(a*a+b*b-back*a*b, 0)) / swingCells
}

// Facts are those so far.
func (s *Swing) Facts() Swings {
	f := s.seen
	f.Times = copied(f.Times)
	f.Volts, f.Twice, f.Mean = s.size[0].Percentile(50), s.size[1].Percentile(50), s.mean.Percentile(50)
	return f
}
