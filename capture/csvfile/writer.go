package csvfile

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
	Round bool // instants that are no whole nanoseconds are rounded
}

// Writer writes a recording: a row for each transition and each sample, levels as 0, mid and 1, lines that end in CR LF
// (RFC 4180). A row has both level and volts, so where there are both, that of a transition repeats the volts of the
// sample before. The last row is the end; it has volts only if a sample stands there. It cannot hold octets; Left tells
// what else is left out.
type Writer struct {
	out      io.Writer
	info     capture.Info
	walk     *rows.Walker
	buf      []byte
	repeated int64 // rows with the volts of the sample before
	err      error // the first one
	done     bool
}

const writeBuffer = 64 << 10

// NewWriter makes a writer of a recording as info says it. Nothing is written before Close or a full buffer.
func NewWriter(w io.Writer, info capture.Info, opt WriteOptions) (*Writer, error) {
	wr := &Writer{out: w, info: info, buf: make([]byte, 0, writeBuffer+1024)}
	walk, err := rows.New(info, rows.Units{Per: capture.Nanoseconds, Name: "nanoseconds", Round: opt.Round}, wr.row)
	if err != nil {
		return nil, fmt.Errorf("csv: %w", err)
	}
	wr.walk = walk
	wr.buf = append(wr.buf, "time_s"...)
	if info.Levels {
		wr.buf = append(wr.buf, ",level"...)
	}
	if info.Volts {
		wr.buf = append(wr.buf, ",volts"...)
	}
	wr.buf = append(wr.buf, "\r\n"...)
	return wr, nil
}

// Write appends a block. The error is the first one of the writer.
func (w *Writer) Write(b *capture.Block) error {
	switch {
	case w.err != nil:
	case w.done:
		w.err = errors.New("csv: expected blocks before Close, found one behind it")
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

// Left says what the file does not hold, or holds otherwise.
func (w *Writer) Left() []string {
	var left []string
	if w.info.Levels {
		left = w.walk.Left().Says(capture.GapFloating)
	} else {
		left = w.walk.Left().Says()
	}
	if w.repeated > 0 {
		left = append(left, "the mark of "+rows.Counted(w.repeated, "row")+" as no sample: a transition with the volts of the sample before")
	}
	return left
}

// Moved is by how many seconds rounding moved an instant at most.
func (w *Writer) Moved() float64 { return w.walk.Moved() * 1e-9 }

func (w *Writer) fail(err error) {
	if err != nil && w.err == nil {
		w.err = fmt.Errorf("csv: %w", err)
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
	w.buf = appendSeconds(w.buf, r.At)
	if w.info.Levels {
		w.buf = append(append(w.buf, ','), levelWord(r)...)
	}
	if w.info.Volts {
		w.buf = append(w.buf, ',')
		w.volts(r)
	}
	w.buf = append(w.buf, "\r\n"...)
	if len(w.buf) >= writeBuffer {
		return w.flush()
	}
	return nil
}

// volts writes a number as short as it can be without loss. Volts that end the last row would be one more sample.
func (w *Writer) volts(r *rows.Row) {
	if !r.Known || !r.Sampled && !r.Changed {
		return
	}
	if !r.Sampled {
		w.repeated++
	}
	w.buf = strconv.AppendFloat(w.buf, r.Volts, 'g', -1, 64)
}

func levelWord(r *rows.Row) string {
	switch {
	case r.Why == capture.GapFloating:
		return "z"
	case r.Why != capture.GapNone:
		return "x"
	case r.Level == capture.Low:
		return "0"
	case r.Level == capture.Mid:
		return "mid"
	case r.Level == capture.High:
		return "1"
	}
	return "x"
}

// appendSeconds appends nanoseconds as seconds, without zeros that say nothing.
func appendSeconds(p []byte, ns int64) []byte {
	size := uint64(ns)
	if ns < 0 {
		p = append(p, '-')
		size = -size
	}
	p = strconv.AppendUint(p, size/1e9, 10)
	rest := size % 1e9
	if rest == 0 {
		return p
	}
	var digits [10]byte
	digits[0] = '.'
	for i := 9; i > 0; i-- {
		digits[i] = byte('0' + rest%10)
		rest /= 10
	}
	n := len(digits)
	for digits[n-1] == '0' {
		n--
	}
	return append(p, digits[:n]...)
}
