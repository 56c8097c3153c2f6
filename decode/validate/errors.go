package validate

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/statistic"
	"linewitness/decode/uart"
)

// errorWhy are the rules that only damage or a wrong sum breaks.
const errorWhy = link.WhyChecksum | link.WhyParity | link.WhyStop | link.WhyLength | link.WhyUnframed

// errorLog counts what is damaged, by sender and by pulse.
type errorLog struct {
	of     [2]runs
	lost   [2]Times // episodes in which a stop element, a mark by rule, was space
	told   [2]bool  // the episode that runs is counted in lost
	placed [2]place
	pulse  [2]pulses // spaces inside marks, marks inside spaces
	struck [2]exposed
}

// exposed is how long a sender's frames of more than one character stood on the line, and how many episodes of loss began in
// them. A single character may as well be a pulse in a rest, which is nobody's.
type exposed struct {
	time  capture.Tick
	begun int
}

// place sums where in their frames single broken characters stand, 0..1.
type place struct {
	n   int64
	sum float64
}

// pulses are the episodes of glitches of one polarity.
type pulses struct {
	n        int64
	episodes Times
	last     capture.Tick
	width    Sketch // seconds
}

// frame takes a frame of a sender; what the recording cut is left out. It is true where an episode of loss begins.
func (e *errorLog) frame(side int, r *link.Frame) (begins bool) {
	bad := r.Why&errorWhy != 0
	before := e.of[side].inside
	e.of[side].frame(bad, r.At)
	if len(r.Chars) > 1 {
		e.struck[side].time += r.End - r.At
		if bad && !before {
			e.struck[side].begun++
		}
	}
	if !bad {
		return false
	}
	if !before {
		e.told[side] = false
	}
	broken, where := 0, 0
	for i := range r.Chars {
		f := r.Chars[i].Fault
		if f&(uart.FaultStop|uart.FaultBreak) != 0 && !e.told[side] {
			e.told[side] = true
			e.lost[side].add(r.Chars[i].At)
		}
		if f&(uart.FaultParity|uart.FaultStop|uart.FaultBreak) != 0 {
			broken, where = broken+1, i
		}
	}
	if !before && broken == 1 && len(r.Chars) > 1 {
		e.placed[side].n++
		e.placed[side].sum += (float64(where) + 0.5) / float64(len(r.Chars))
	}
	return !before
}

// glitch takes a pulse too short for a bit; a rest ends an episode.
func (e *errorLog) glitch(g *uart.Glitch, rest capture.Tick, seconds float64) {
	p := &e.pulse[0]
	if g.Mark {
		p = &e.pulse[1]
	}
	if p.n == 0 || g.At-p.last > rest {
		p.episodes.add(g.At)
	}
	p.n++
	p.last = g.At
	p.width.Add(seconds)
}

// facts lists them, sender by sender.
func (e *errorLog) facts(dst []Fact, senders []Sender, seconds float64) []Fact {
	for i := range senders {
		dst = append(dst, e.episodes(i, senders[i].Side), e.clustering(i, senders[i].Side), e.marksLost(i, senders[i].Side),
			e.position(i, senders[i].Side))
	}
	dst = append(dst, e.oneOrBoth(len(senders)))
	for i, id := range [...]string{"errors.short-spaces", "errors.short-marks"} {
		dst = append(dst, e.pulse[i].rate(id, seconds), e.pulse[i].widths(id+"-width"))
	}
	return dst
}

// episodes is the share of this sender's frames at which an episode of loss begins; interval by C. J. Clopper and E. S. Pearson (1934).
func (e *errorLog) episodes(i int, side capture.Side) Fact {
	r := &e.of[i]
	return shareFact("errors.episodes", side, r.episodes, r.frames, "no frame of this sender was seen")
}

// clustering is the number of bad frames an episode, with the exact runs test.
func (e *errorLog) clustering(i int, side capture.Side) Fact {
	r := &e.of[i]
	f := newFact("errors.clustering", side, "frames an episode")
	f.N = r.episodes.N
	if r.bad == 0 {
		f.Unmeasured = "no frame of this sender was damaged"
		return f
	}
	f.Value, f.P, f.Times = float64(r.bad)/float64(r.episodes.N), r.clustered(), copied(r.episodes)
	return f
}

// marksLost is the share of episodes in which a stop element was space. What data bits should have been is not known.
func (e *errorLog) marksLost(i int, side capture.Side) Fact {
	return shareFact("errors.marks-lost", side, e.lost[i], e.of[i].episodes.N, "no frame of this sender was damaged")
}

// position is the mean place of the only broken character in the first frame of an episode, 0 first, 1 last. Interval and p by
// W. Hoeffding's inequality (1963), whatever the length of the frames, so conservative.
func (e *errorLog) position(i int, side capture.Side) Fact {
	p := &e.placed[i]
	f := newFact("errors.position", side, "")
	if f.N = p.n; p.n == 0 {
		f.Unmeasured = "no episode began with one broken character in a longer frame"
		return f
	}
	n := float64(p.n)
	f.Value = p.sum / n
	half := math.Sqrt(math.Log(2/0.05) / (2 * n))
	f.Low, f.High = max(0, f.Value-half), min(1, f.Value+half)
	d := f.Value - 0.5
	f.P = min(1, 2*math.Exp(-2*n*d*d))
	return f
}

// oneOrBoth is the ratio of the rates at which episodes begin, by the time that frames stand on the line: first sender over second. Exact conditional test of J.
// Przyborowski and H. Wilenski (1940).
func (e *errorLog) oneOrBoth(senders int) Fact {
	f := newFact("errors.one-sender", capture.Line, "")
	a, b := &e.struck[0], &e.struck[1]
	f.N = int64(a.begun + b.begun)
	switch {
	case senders < 2:
		f.Unmeasured = "this tap does not tell two senders apart"
	case a.time == 0 || b.time == 0:
		f.Unmeasured = "only one sender was seen"
	case f.N == 0:
		f.Unmeasured = "no frame was damaged"
	default:
		r := statistic.RateRatioOf(a.begun, float64(a.time), b.begun, float64(b.time), 0.95)
		f.Value, f.Low, f.High, f.P = r.Ratio, r.Within.Lower, r.Within.Upper, r.P
	}
	return f
}

// rate is the rate of episodes of short pulses, with the exact interval of F. Garwood (1936).
func (p *pulses) rate(id string, seconds float64) Fact {
	f := newFact(id, capture.Line, "/s")
	f.N, f.Times = p.episodes.N, copied(p.episodes)
	if !(seconds > 0) {
		f.Unmeasured = "no talk was seen"
		return f
	}
	r := statistic.RateOf(int(p.episodes.N), seconds, 0.95)
	f.Value, f.Low, f.High = r.Value, r.Within.Lower, r.Within.Upper
	return f
}

// widths is the median width of the pulses. They come in episodes, so no interval is given.
func (p *pulses) widths(id string) Fact {
	f := newFact(id, capture.Line, "s")
	if f.N = p.n; p.n == 0 {
		f.Unmeasured = "no such pulse was seen"
		return f
	}
	f.Value = p.width.Percentile(50)
	return f
}

// newFact is a fact without figures.
func newFact(id string, side capture.Side, unit string) Fact {
	nan := math.NaN()
	return Fact{ID: id, Side: side, Unit: unit, Value: nan, Low: nan, High: nan, P: nan}
}

// shareFact is a proportion with its exact interval; without chances it is not measured, and why says so.
func shareFact(id string, side capture.Side, t Times, of int64, why string) Fact {
	f := newFact(id, side, "")
	if f.N = of; of == 0 {
		f.Unmeasured = why
		return f
	}
	i := statistic.ClopperPearson(int(t.N), int(of), 0.95)
	f.Value, f.Low, f.High, f.Times = float64(t.N)/float64(of), i.Lower, i.Upper, copied(t)
	return f
}

// copied does not move when the fold goes on.
func copied(t Times) Times {
	t.At = append([]capture.Tick(nil), t.At...)
	return t
}
