package vcd

import (
	"errors"
	"fmt"
	"io"
	"strconv"

	"linewitness/capture"
	"linewitness/capture/internal/rows"
)

// WriteOptions of NewWriter.
type WriteOptions struct {
	Round bool // instants that are no whole nanoseconds are rounded, where the clock is no power of ten
}

// Writer writes a recording. Its time unit is a tick of the clock where that is 1, 10 or 100 of s, ms, us, ns, ps or fs
// (clause 18.2.3.5), and else a nanosecond. It cannot hold a third level, octets, or an instant below 0; Left tells
// what else is left out.
type Writer struct {
	out    io.Writer
	info   capture.Info
	walk   *rows.Walker
	unit   float64 // seconds
	buf    []byte
	err    error // the first one
	done   bool
	paused bool // within $dumpoff
}

const (
	writeBuffer = 64 << 10
	levelCode   = "!\n"
	voltsCode   = " \"\n"
)

// NewWriter makes a writer of a recording as info says it. Nothing is written before Close or a full buffer.
func NewWriter(w io.Writer, info capture.Info, opt WriteOptions) (*Writer, error) {
	scale, per := timescaleOf(info.Clock)
	wr := &Writer{out: w, info: info, unit: 1 / per.PerSecond(), buf: make([]byte, 0, writeBuffer+1024)}
	walk, err := rows.New(info, rows.Units{Per: per, Name: "units of " + scale, Round: opt.Round}, wr.row)
	if err != nil {
		return nil, fmt.Errorf("vcd: %w", err)
	}
	wr.walk = walk
	wr.header(scale)
	return wr, nil
}

// timescaleOf is the timescale of a clock, and the clock of that.
func timescaleOf(c capture.Clock) (scale string, per capture.Clock) {
	for i, unit := range []string{"s", "ms", "us", "ns", "ps", "fs"} {
		most := int64(1)
		for range i {
			most *= 1000
		}
		for _, n := range []int64{1, 10, 100} {
			num, den := most, n
			if i > 0 {
				num, den = most/n, 1
			}
			// Num/Den = num/den; a term that n does not divide is no such clock.
			if c.Valid() && c.Num%num == 0 && c.Den%den == 0 && c.Num/num == c.Den/den {
				return fmt.Sprintf("%d %s", n, unit), capture.Clock{Num: num, Den: den}
			}
		}
	}
	return "1 ns", capture.Nanoseconds
}

func (w *Writer) header(scale string) {
	w.buf = append(w.buf, "$version linewitness $end\n$timescale "+scale+" $end\n$scope module line $end\n"...)
	if w.info.Levels {
		w.buf = append(w.buf, "$var wire 1 ! level $end\n"...)
	}
	if w.info.Volts {
		w.buf = append(w.buf, "$var real 64 \" volts $end\n"...)
	}
	w.buf = append(w.buf, "$upscope $end\n$enddefinitions $end\n"...)
}

// Write appends a block. The error is the first one of the writer.
func (w *Writer) Write(b *capture.Block) error {
	switch {
	case w.err != nil:
	case w.done:
		w.err = errors.New("vcd: expected blocks before Close, found one behind it")
	default:
		w.fail(w.walk.Block(b))
	}
	return w.err
}

// Close writes the end of the recording and what is left. It doesn't close the output. Its error is the first one of
// the writer.
func (w *Writer) Close() error {
	if w.done {
		return w.err
	}
	w.done = true
	if w.err == nil {
		w.fail(w.walk.End())
	}
	if w.err == nil {
		w.fail(w.flush())
	}
	return w.err
}

// Left says what the file does not hold.
func (w *Writer) Left() []string {
	if w.info.Levels {
		return w.walk.Left().Says(capture.GapPaused, capture.GapFloating)
	}
	return w.walk.Left().Says(capture.GapPaused)
}

// Moved is by how many seconds rounding moved an instant at most.
func (w *Writer) Moved() float64 { return w.walk.Moved() * w.unit }

func (w *Writer) fail(err error) {
	if err != nil && w.err == nil {
		w.err = fmt.Errorf("vcd: %w", err)
	}
}

func (w *Writer) flush() error {
	n, err := w.out.Write(w.buf)
	if err == nil && n < len(w.buf) {
		err = io.ErrShortWrite
	}
	w.buf = w.buf[:0]
	return err
}

// row writes what is said of an instant.
func (w *Writer) row(r *rows.Row) error {
	if r.At < 0 {
		return fmt.Errorf("expected a recording that starts at 0 s or later, which VCD can say, found %v s", float64(r.At)*w.unit)
	}
	if r.Level == capture.Mid {
		return fmt.Errorf("at %v s: expected a level low or high, found mid: VCD has no third one", float64(r.At)*w.unit)
	}
	w.buf = strconv.AppendInt(append(w.buf, '#'), r.At, 10)
	w.buf = append(w.buf, '\n')
	switch {
	case r.First:
		w.section("$dumpvars", r)
		if r.Why == capture.GapPaused {
			w.pause(r)
		}
	case r.Lost && r.Why == capture.GapPaused:
		w.pause(r)
	case r.Begins && w.paused:
		w.paused = false
		w.section("$dumpon", r)
	default:
		w.changes(r)
	}
	if len(w.buf) >= writeBuffer {
		return w.flush()
	}
	return nil
}

func (w *Writer) pause(r *rows.Row) {
	w.paused = true
	w.section("$dumpoff", r)
}

// section writes the values of all nets.
func (w *Writer) section(keyword string, r *rows.Row) {
	w.buf = append(append(w.buf, keyword...), '\n')
	if w.info.Levels {
		w.level(r)
	}
	if w.info.Volts {
		w.volts(r)
	}
	w.buf = append(w.buf, "$end\n"...)
}

func (w *Writer) changes(r *rows.Row) {
	if w.info.Levels && (r.Changed || r.Begins || r.Lost) {
		w.level(r)
	}
	if w.info.Volts && (r.Sampled || r.Lost) {
		w.volts(r)
	}
}

func (w *Writer) level(r *rows.Row) {
	value := byte('x')
	switch {
	case r.Why == capture.GapFloating:
		value = 'z'
	case r.Why != capture.GapNone:
	case r.Level == capture.Low:
		value = '0'
	case r.Level == capture.High:
		value = '1'
	}
	w.buf = append(append(w.buf, value), levelCode...)
}

// volts writes a number as short as it can be without loss; NaN is how %g, with which the standard has reals written,
// says that there is none.
func (w *Writer) volts(r *rows.Row) {
	w.buf = append(w.buf, 'r')
	if r.Known {
		w.buf = strconv.AppendFloat(w.buf, r.Volts, 'g', -1, 64)
	} else {
		w.buf = append(w.buf, "NaN"...)
	}
	w.buf = append(w.buf, voltsCode...)
}
