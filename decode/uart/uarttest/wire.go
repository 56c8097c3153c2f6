// Package uarttest puts characters on a line for tests: any format, speed, bias and jitter, with glitches and gaps, as
// transitions, as a Source or as a VCD text.
package uarttest

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"linewitness/capture"
	"linewitness/decode/uart"
)

// Sender is how characters are sent. Speed is the true one.
type Sender struct {
	uart.Line
	Bias   float64 // marks lengthened, of the unit interval: edges to mark come early
	Jitter float64 // standard deviation of every edge but the first, of the unit interval
	Pause  float64 // idle between characters, bits
	Rand   *rand.Rand
}

// Wire is a line at mark on which senders put characters. The zero value with a Clock works; times are seconds.
type Wire struct {
	Clock capture.Clock
	High  bool // idle level is low: mark is low
	Now   float64
	at    []capture.Tick
	mark  []bool
}

// Idle lets time pass.
func (w *Wire) Idle(seconds float64) { w.Now += seconds }

// Set brings the line to mark or space at an instant, not before the last one.
func (w *Wire) Set(seconds float64, mark bool) {
	t := w.Clock.Ticks(seconds)
	if n := len(w.at); n > 0 && w.at[n-1] >= t {
		t = w.at[n-1] + 1
	}
	if len(w.mark) == 0 && mark || len(w.mark) > 0 && w.mark[len(w.mark)-1] == mark {
		return
	}
	w.at, w.mark = append(w.at, t), append(w.mark, mark)
}

// Pulse puts a short pulse to the other state on the line and lets its time pass.
func (w *Wire) Pulse(width float64) {
	was := len(w.mark) == 0 || w.mark[len(w.mark)-1]
	w.Set(w.Now, !was)
	w.Set(w.Now+width, was)
	w.Now += width
}

// Bits are the elements of a character, start and stop included; the last is the stop element.
func Bits(f uart.Format, v uint16) []bool {
	bits := []bool{false}
	ones := 0
	for i := range int(f.DataBits) {
		b := v>>i&1 == 1
		if b {
			ones++
		}
		bits = append(bits, b)
	}
	switch f.Parity {
	case uart.ParityEven:
		bits = append(bits, ones%2 == 1)
	case uart.ParityOdd:
		bits = append(bits, ones%2 == 0)
	case uart.ParityMark:
		bits = append(bits, true)
	case uart.ParitySpace:
		bits = append(bits, false)
	}
	return append(bits, true)
}

// Send puts characters on the line and returns the first start edge and the end of the last stop element, in seconds.
func (w *Wire) Send(s Sender, values ...uint16) (start, end float64) {
	bit := 1 / s.Speed
	start = w.Now
	for _, v := range values {
		w.Elements(s, Bits(s.Format, v))
		w.Now += (s.Format.Length() + s.Pause) * bit
	}
	return start, w.Now - s.Pause*bit
}

// Elements puts raw elements on the line from Now on and does not move Now.
func (w *Wire) Elements(s Sender, bits []bool) {
	bit := 1 / s.Speed
	before := true
	for i, b := range bits {
		if b == before {
			continue
		}
		shift := 0.0
		if b {
			shift = -s.Bias
		}
		if s.Jitter > 0 && i > 0 {
			shift += s.Jitter * s.Rand.NormFloat64()
		}
		w.Set(w.Now+(float64(i)+shift)*bit, b)
		before = b
	}
}

func (w *Wire) level(mark bool) capture.Level {
	if mark != w.High {
		return capture.High
	}
	return capture.Low
}

// Block is the whole line from 0 to Now.
func (w *Wire) Block() *capture.Block {
	b := &capture.Block{End: w.Clock.Ticks(w.Now), First: w.level(true)}
	for i, t := range w.at {
		b.At, b.To = append(b.At, t), append(b.To, w.level(w.mark[i]))
	}
	if n := len(w.at); n > 0 && w.at[n-1] > b.End {
		b.End = w.at[n-1]
	}
	return b
}

// Info describes the line as a recording.
func (w *Wire) Info() capture.Info {
	return capture.Info{Name: "wire", Format: "test", Clock: w.Clock, Levels: true}
}

// Source gives the line in blocks of so many transitions.
func (w *Wire) Source(size int) capture.Source {
	return &source{info: w.Info(), all: w.Block(), size: size}
}

type source struct {
	info capture.Info
	all  *capture.Block
	size int
	pos  int
	done bool
}

func (s *source) Info() capture.Info { return s.info }
func (s *source) Close() error       { return nil }

func (s *source) Next(b *capture.Block) error {
	if s.done {
		return io.EOF
	}
	b.Reset()
	b.Start, b.First = s.all.Start, s.all.First
	if s.pos > 0 {
		b.Start, b.First = s.all.At[s.pos-1], s.all.To[s.pos-1]
	}
	n := min(s.size, len(s.all.At)-s.pos)
	b.At, b.To = append(b.At, s.all.At[s.pos:s.pos+n]...), append(b.To, s.all.To[s.pos:s.pos+n]...)
	s.pos += n
	b.End = s.all.End
	if s.pos < len(s.all.At) {
		b.End = s.all.At[s.pos-1]
	} else {
		s.done = true
	}
	return nil
}

// WriteVCD writes the line as IEEE 1364 value change dump with one net.
func (w *Wire) WriteVCD(out io.Writer, comment string) error {
	unit, ok := map[capture.Clock]string{{Num: 1e9, Den: 1}: "1 ns", {Num: 1e6, Den: 1}: "1 us", {Num: 1e8, Den: 1}: "10 ns"}[w.Clock]
	if !ok {
		return fmt.Errorf("uarttest: no timescale for %v", w.Clock)
	}
	b := bufio.NewWriter(out)
	fmt.Fprintf(b, "$comment %s $end\n$timescale %s $end\n$scope module line $end\n$var wire 1 ! s $end\n$upscope $end\n$enddefinitions $end\n", comment, unit)
	digit := map[capture.Level]byte{capture.Low: '0', capture.High: '1'}
	fmt.Fprintf(b, "#0\n$dumpvars\n%c!\n$end\n", digit[w.level(true)])
	for i, t := range w.at {
		fmt.Fprintf(b, "#%d\n%c!\n", t, digit[w.level(w.mark[i])])
	}
	fmt.Fprintf(b, "#%d\n", max(w.Clock.Ticks(w.Now), w.lastAt()))
	return b.Flush()
}

func (w *Wire) lastAt() capture.Tick {
	if n := len(w.at); n > 0 {
		return w.at[n-1]
	}
	return math.MinInt64
}

// Disturb inverts the line from an instant on, n times, for the widths that width gives, with pauses of the same.
func (w *Wire) Disturb(from float64, n int, width func() float64) {
	for range n {
		to := from + width()
		w.toggle(w.Clock.Ticks(from), w.Clock.Ticks(to))
		from = to + width()
	}
}

// toggle inverts the line in [from, to).
func (w *Wire) toggle(from, to capture.Tick) {
	var at []capture.Tick
	var mark []bool
	state, out, i := true, true, 0 // state of the line, and what was written last
	put := func(t capture.Tick, m bool) {
		if m == out {
			return
		}
		if n := len(at); n > 0 && at[n-1] == t { // two changes at one instant are none
			at, mark = at[:n-1], mark[:n-1]
		} else {
			at, mark = append(at, t), append(mark, m)
		}
		out = m
	}
	before := func(limit capture.Tick, invert bool) {
		for ; i < len(w.at) && w.at[i] < limit; i++ {
			state = w.mark[i]
			put(w.at[i], state != invert)
		}
	}
	before(from, false)
	put(from, !state)
	before(to, true)
	put(to, state)
	before(1<<62, false)
	w.at, w.mark = at, mark
}
