package file

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"linewitness/capture"
	"linewitness/capture/internal/rows"
	"linewitness/capture/wav"
)

// wave writes volts as WAV. The header has the rate, so blocks are held until there are samples enough to tell it.
type wave struct {
	out    io.Writer
	info   capture.Info
	format wav.Format
	named  bool // somebody said the full scale

	held    []capture.Block
	samples int
	w       *wav.Writer // nil: blocks are held

	begun        bool
	start, end   capture.Tick
	first, last  capture.Tick // sample, or edge of a lost interval
	rounded      int64
	reasons      int64
	err          error
	done, placed bool
}

// What is held at most: 65,536 samples tell a rate to 1/65,536 of a tick a sample.
const (
	mostHeld       = 1 << 16
	mostHeldBlocks = 1 << 10
)

func newWave(out io.Writer, info capture.Info, opt CreateOptions) (*wave, error) {
	switch {
	case !info.Volts:
		return nil, errors.New("wav: expected volts, found levels only, which VCD and CSV hold and WAV does not")
	case info.Levels:
		return nil, errors.New("wav: expected volts alone, found levels beside them, which VCD and CSV hold and WAV does not")
	}
	f := wav.Format{Bits: opt.Bits, Float: opt.Float, FullScale: opt.FullScale, Clock: info.Clock}
	if f.Bits == 0 {
		f.Bits, f.Float = 32, true
	}
	if f.FullScale == 0 {
		f.FullScale = info.FullScale
	}
	named := f.FullScale > 0 && (!info.Relative || opt.FullScale > 0)
	switch {
	case f.FullScale == 0 && !f.Float:
		return nil, fmt.Errorf("wav: expected the volts of the greatest integer: %w", ErrFullScale)
	case f.FullScale == 0:
		f.FullScale = 1
	}
	// The rate is still to come; the rest can be wrong now.
	probe := f
	probe.Rate = 1
	if _, err := wav.NewWriter(io.Discard, probe); err != nil {
		return nil, err
	}
	return &wave{out: out, info: info, format: f, named: named}, nil
}

func (w *wave) Write(b *capture.Block) error {
	switch {
	case w.err != nil:
		return w.err
	case w.done:
		w.err = errors.New("wav: expected blocks before Close, found one behind it")
	case len(b.Octets) > 0:
		w.err = errors.New("wav: expected volts, found octets of a port")
	case len(b.At) > 0:
		w.err = errors.New("wav: expected volts, found transitions")
	case w.w != nil:
		w.err = w.append(b)
	default:
		w.held = append(w.held, capture.Block{})
		b.CopyTo(&w.held[len(w.held)-1])
		w.samples += len(b.SampleAt)
		if w.samples >= mostHeld || len(w.held) >= mostHeldBlocks && w.samples > 1 {
			w.err = w.begin()
		}
	}
	return w.err
}

// begin finds the rate and writes what was held.
func (w *wave) begin() (err error) {
	if w.format.Rate, err = rateOf(w.held, w.info.Clock); err != nil {
		return err
	}
	if w.w, err = wav.NewWriter(w.out, w.format); err != nil {
		return err
	}
	for i := range w.held {
		if err := w.append(&w.held[i]); err != nil {
			return err
		}
	}
	w.held = nil
	return nil
}

func (w *wave) append(b *capture.Block) error {
	from := b.Start
	if b.Gap.Present() {
		from = b.Gap.From
		w.place(b.Gap.From, b.Gap.To)
		if b.Gap.Why != capture.GapDamaged {
			w.reasons++
		}
	}
	if !w.begun {
		w.begun, w.start = true, from
	}
	w.end = b.End
	if n := len(b.SampleAt); n > 0 {
		w.place(b.SampleAt[0], b.SampleAt[n-1])
	}
	if w.format.Float && w.format.Bits == 32 {
		w.rounded += roundedTo32(b.Volts, w.format.FullScale)
	}
	return w.w.WriteBlock(b)
}

func (w *wave) place(from, to capture.Tick) {
	if !w.placed {
		w.placed, w.first = true, from
	}
	w.last = to
}

// roundedTo32 counts the volts that 24 bits of mantissa don't hold. A quotient that is off by its own last bit only
// was such a number before it was multiplied.
func roundedTo32(volts []float64, full float64) (n int64) {
	for _, v := range volts {
		x := v / full
		if math.Abs(float64(float32(x))-x) > 1e-14*math.Abs(x) {
			n++
		}
	}
	return n
}

func (w *wave) Close() error {
	if w.done {
		return w.err
	}
	w.done = true
	if w.err == nil && w.w == nil {
		w.err = w.begin()
	}
	if w.w == nil {
		return w.err
	}
	err := w.w.Close()
	if w.err == nil {
		w.err = err
	}
	if n := w.w.Clipped(); n > 0 && w.err == nil {
		w.err = fmt.Errorf("wav: expected volts within a full scale of %v V, found %s beyond, which floating point would hold",
			w.format.FullScale, rows.Counted(n, "sample"))
	}
	return w.err
}

func (w *wave) Moved() float64 { return 0 }

func (w *wave) Left() []string {
	var left []string
	say := func(format string, args ...any) { left = append(left, fmt.Sprintf(format, args...)) }
	seconds := func(t capture.Tick) string {
		return strconv.FormatFloat(w.info.Clock.Seconds(t), 'f', -1, 64) + " s"
	}
	if w.named && w.format.FullScale != 1 {
		say("that +1.0 stands for %v V", w.format.FullScale)
	}
	if w.begun && w.start != 0 {
		say("that the recording starts at %s and not at 0", seconds(w.start))
	}
	if w.placed && w.first > w.start {
		say("the first %s, which have no sample", seconds(w.first-w.start))
	}
	if step := w.step(); w.placed && w.end > w.last+2*step {
		say("the last %s, which have no sample", seconds(w.end-w.last-step))
	}
	if w.rounded > 0 {
		say("the digits of %s beyond 24 bits", rows.Counted(w.rounded, "sample"))
	}
	if !w.format.Float && w.w != nil {
		say("what is finer than steps of %.3g V", w.format.FullScale/math.Ldexp(1, w.format.Bits-1))
	}
	if w.reasons > 0 {
		say("the reason of %s, damaged when read", rows.Counted(w.reasons, "lost interval"))
	}
	return left
}

// step is from one sample to the next, rounded.
func (w *wave) step() capture.Tick {
	if w.format.Rate == 0 {
		return 0
	}
	return w.info.Clock.Ticks(1 / float64(w.format.Rate))
}
