package validate

import (
	"math"

	"linewitness/capture"
)

const (
	mainsBinSeconds = 0.4e-3 // of settled samples in one mean
	mainsWindow     = 0.4    // s, a window of the tracking
	mainsHeadWindow = 5      // windows that the search for the frequency looks at: 2 s
	mainsLongestBin = 2e-3   // s: a coarser clock cannot show twice the mains frequency
	mainsHighest    = 69.0   // Hz: 60 Hz +15 %, EN 50160 for islands
	mainsLowest     = 42.5   // Hz: 50 Hz -15 %
	mainsIsland     = 0.15   // how far from the nominal it may be
	mainsFoundBelow = 1e-3   // chance at which mains count as found
	mainsRecent     = 64     // windows whose phase is kept
)

// Mains follows frequency and phase of the mains from ripple and hum in the volts of settled pieces, whatever states they
// are in. Samples go into means of 0.4 ms on a fixed grid; the frequency is searched in 2 s of them, the phase is then
// followed in windows of 0.4 s. It holds a bounded amount (under 1.5 MiB) and nothing that depends on how pieces were cut.
type Mains struct {
	clock   capture.Clock
	second  float64 // s a tick
	nominal float64 // Hz; 0: not known
	bin     int64   // ticks
	window  int64   // ticks in a window of the tracking, a whole number of bins
	origin  capture.Tick
	begun   bool

	start  capture.Tick // of the bin in progress
	number int64        // of its window
	border capture.Tick // end of that window
	guess  int          // samples in the last run of a bin
	seen   uint8        // bits of the levels in acc
	acc    [4]mainsAcc

	buf     []mainsBin // the head that is searched
	first   int64      // window in progress, or of the head's first bin
	now     mainsState // predicted for the window in progress
	fresh   bool       // nothing connects that with what was followed before
	state   mainsState
	scan    mainsScan
	tries   int
	resume  float64 // s: no search before
	chance  float64
	found   bool
	locked  bool
	cells   [4]mainsCells // of the window in progress
	long    [4]mainsCells
	trust   [4]mainsTemplate
	angles  mainsAngles
	recent  [mainsRecent]mainsAt
	nRecent int64
	span    mainsSpan
	total   mainsTotal
	spacing mainsSpacing
}

// mainsAcc sums the samples of one state in the bin in progress.
type mainsAcc struct {
	n           int64
	sum         float64
	off         int64 // sum of ticks since the bin's start
	first, last int64
}

// mainsBin is the mean of a state in a bin: w samples around at, in seconds since the origin.
type mainsBin struct {
	at, v, w float64
	window   int64
	level    capture.Level
}

// NewMains begins to look for mains of a nominal frequency in Hz: 50 or 60 where the user said so, 0 where nobody did.
// The search spans the limits of EN 50160 for islands, 15 % either way, of both. The nominal is not assumed: it only takes half
// of the stated chance for its own span.
func NewMains(c capture.Clock, nominal float64) *Mains {
	m := &Mains{clock: c, second: 1 / c.PerSecond(), nominal: nominal, chance: 1}
	m.bin = max(int64(math.Round(mainsBinSeconds*c.PerSecond())), 1)
	m.window = m.bin * max(int64(math.Round(mainsWindow*c.PerSecond()/float64(m.bin))), 1)
	m.angles = newMainsAngles()
	return m
}

// Add takes the next piece. Pieces of unknown level say nothing.
func (m *Mains) Add(p Piece) {
	if p.Level < capture.Low || p.Level > capture.High || len(p.At) == 0 || float64(m.bin)*m.second > mainsLongestBin {
		return
	}
	if !m.begun {
		m.begun = true
		m.origin = capture.Tick(mainsFloor(int64(p.At[0]), m.bin) * m.bin)
		m.start, m.border = m.origin, m.origin+capture.Tick(m.window)
	}
	for i := 0; i < len(p.At); {
		end := m.start + capture.Tick(m.bin)
		if at := p.At[i]; at < m.start || at >= end {
			m.closeBin()
			if m.start = end; at < end || at >= end+capture.Tick(m.bin) {
				m.start = capture.Tick(mainsFloor(int64(at), m.bin) * m.bin)
			}
			end = m.start + capture.Tick(m.bin)
			if m.start >= m.border {
				m.number = int64(m.start-m.origin) / m.window
				m.border = m.origin + capture.Tick((m.number+1)*m.window)
			}
		}
		j := runUntil(p.At, i, end, m.guess)
		m.acc[p.Level].add(p.At[i:j], p.Volts[i:j], int64(m.start))
		m.seen |= 1 << p.Level
		m.guess, i = j-i, j
	}
}

// add sums a run of samples of the bin that starts at start.
func (a *mainsAcc) add(at []capture.Tick, volts []float64, start int64) {
	if a.n == 0 {
		a.first = int64(at[0])
	}
	a.last = int64(at[len(at)-1])
	var off0, off1 int64
	var sum0, sum1 float64
	volts = volts[:len(at)]
	n := len(at)
	for len(at) >= 2 && len(volts) >= 2 { // two chains halve the wait
		off0 += int64(at[0])
		off1 += int64(at[1])
		sum0 += volts[0]
		sum1 += volts[1]
		at, volts = at[2:], volts[2:]
	}
	if len(at) > 0 && len(volts) > 0 {
		off0 += int64(at[0])
		sum0 += volts[0]
	}
	a.sum += sum0 + sum1
	a.off += off0 + off1 - int64(n)*start
	a.n += int64(n)
}

// closeBin passes the means of the bin in progress on.
func (m *Mains) closeBin() {
	since := m.start - m.origin
	for l := capture.Low; l <= capture.High; l++ {
		if m.seen&(1<<l) == 0 {
			continue
		}
		a := &m.acc[l]
		n := float64(a.n)
		each := 1 / n
		b := mainsBin{v: a.sum * each, w: n, level: l, window: m.number}
		b.at = (float64(since) + float64(a.off)*each) * m.second
		if a.n > 1 {
			m.spacing.ticks += float64(a.last - a.first)
			m.spacing.steps += n - 1
		}
		*a = mainsAcc{}
		switch {
		case b.v-b.v != 0: // not a number, or infinite
		case m.locked && m.number == m.first:
			m.fold(b.at, b.v, b.w, l)
		default:
			m.push(&b)
		}
	}
	m.seen = 0
}

// push puts a bin into the window that it belongs to; the first bin of another window closes the one before.
func (m *Mains) push(b *mainsBin) {
	if m.locked {
		if b.window == m.first || m.nextWindow(b.window) {
			m.fold(b.at, b.v, b.w, b.level)
			return
		}
	}
	if len(m.buf) > 0 && b.window >= m.first+mainsHeadWindow {
		if m.search(); m.locked {
			m.push(b)
			return
		}
	}
	if b.at < m.resume {
		return
	}
	if len(m.buf) == 0 {
		m.first = b.window
	}
	m.buf = append(m.buf, *b)
}

// nextWindow closes the window in progress and opens another; false where the phase got lost in between.
func (m *Mains) nextWindow(window int64) bool {
	m.closeWindow()
	m.first = window
	m.locked = m.openWindow(window)
	return m.locked
}

// search looks for the mains in the head that was gathered; once found it follows them from the head's start.
func (m *Mains) search() {
	head := m.buf
	m.buf = m.buf[:0]
	if !m.acquire(head) {
		m.tries++
		// The pause grows to 14 s, so that a line without mains costs little.
		m.resume = head[len(head)-1].at + min(math.Ldexp(1, min(m.tries, 10))-2, 14)
		return
	}
	m.first = head[0].window
	m.openWindow(m.first)
	for i := range head {
		if head[i].window != m.first {
			m.nextWindow(head[i].window)
		}
		m.fold(head[i].at, head[i].v, head[i].w, head[i].level)
	}
}

// Flush ends the recording: it searches or follows what had been gathered and not yet used. Heads under 0.5 s are too short.
// What is added after it begins a new window.
func (m *Mains) Flush() {
	m.closeBin()
	if n := len(m.buf); n > 0 && m.buf[n-1].at-m.buf[0].at >= 0.5 {
		m.search()
	}
	if m.locked && m.cells[capture.Low].n+m.cells[capture.Mid].n+m.cells[capture.High].n > 0 {
		m.nextWindow(m.first)
	}
}

// runUntil is the first index after i whose instant is not before end. guess is how long the run may be.
func runUntil(at []capture.Tick, i int, end capture.Tick, guess int) int {
	if j := i + guess; guess > 0 && j < len(at) && at[j-1] < end && at[j] >= end {
		return j
	}
	if at[len(at)-1] < end {
		return len(at)
	}
	lo, step := i, 1 // at[lo] is before end
	for lo+step < len(at) && at[lo+step] < end {
		lo += step
		step *= 2
	}
	hi := min(lo+step, len(at)-1)
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; at[mid] < end {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// mainsFloor is a/b rounded down.
func mainsFloor(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
