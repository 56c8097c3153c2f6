package wav

import (
	"errors"
	"fmt"
	"io"
	"math"

	"linewitness/capture"
	"linewitness/capture/internal/text"
)

// Format is what a Writer writes: one channel.
type Format struct {
	Rate      int64         // samples a second, 1 to 4,294,967,295
	Bits      int           // 8, 16, 24 or 32; of floating point 32 or 64
	Float     bool          //
	FullScale float64       // volts at +1.0; 0: volts are written as they are
	Clock     capture.Clock // of the blocks; zero: 1024 ticks a sample, as Reader has it
}

// Writer writes a recording. Where the sizes can be corrected at the end they are, also beyond 4 GiB (RF64);
// otherwise they stay FFFFFFFF and the recording lasts to the end of the file.
type Writer struct {
	out    io.Writer
	seek   io.Seeker // nil: out is a stream
	start  int64     // where the header stands in out
	format Format

	buf     []byte
	encode  encoder
	samples int64
	clipped int64
	grid    grid
	err     error // the first one
	broken  bool  // out itself failed
	closed  bool
}

// NewWriter makes a writer. If w is an io.Seeker that can seek, the recording starts where w stands and Close corrects
// the sizes; w must then not be a file opened for appending. Nothing is written before Close or a full buffer.
func NewWriter(w io.Writer, f Format) (*Writer, error) {
	if f.FullScale == 0 {
		f.FullScale = 1
	}
	if f.Clock == (capture.Clock{}) {
		f.Clock = capture.Clock{Num: f.Rate * ticksPerSample, Den: 1}
	}
	if err := f.check(); err != nil {
		return nil, err
	}
	wr := &Writer{out: w, format: f, buf: make([]byte, 0, bufferSize), encode: encoderOf(f.Float, f.Bits)}
	wr.grid = newGrid(f.Clock, f.Rate)
	if s, ok := w.(io.Seeker); ok {
		if at, err := s.Seek(0, io.SeekCurrent); err == nil { // a pipe is a Seeker that fails
			wr.seek, wr.start = s, at
		}
	}
	wr.buf = f.appendHeader(wr.buf, wr.seek != nil, -1)
	return wr, nil
}

func (f Format) check() error {
	switch {
	case f.Rate < 1 || f.Rate > math.MaxUint32:
		return fmt.Errorf("wav: expected 1 to 4294967295 samples a second, found %d", f.Rate)
	case f.Float && f.Bits != 32 && f.Bits != 64:
		return fmt.Errorf("wav: expected 32 or 64 bits of floating point, found %d", f.Bits)
	case !f.Float && f.Bits != 8 && f.Bits != 16 && f.Bits != 24 && f.Bits != 32:
		return fmt.Errorf("wav: expected 8, 16, 24 or 32 bits, found %d", f.Bits)
	case !(f.FullScale > 0 && f.FullScale <= math.MaxFloat64):
		return fmt.Errorf("wav: expected a full scale above 0 V, found %v", f.FullScale)
	case !f.Clock.Valid() || f.Clock.Den > math.MaxInt64/2/f.Rate:
		return fmt.Errorf("wav: expected a clock of positive terms, Den times Rate below 2^62, found %d/%d", f.Clock.Num, f.Clock.Den)
	}
	return nil
}

const noGaps = "PCM can't say that a sample is lost, floating point can"

// Clipped is how many samples lay beyond what the format holds, and were written as its greatest or least number.
func (w *Writer) Clipped() int64 { return w.clipped }

// Write appends samples at the format's rate. Integers round half to even. A NaN is a lost sample in floating point
// and an error in PCM. A block that follows may start anywhere.
func (w *Writer) Write(volts []float64) error {
	w.grid.started = false
	return w.append(volts)
}

func (w *Writer) append(volts []float64) error {
	if w.closed && w.err == nil {
		w.err = errors.New("wav: expected samples before Close, found some behind it")
	}
	width := w.format.Bits / 8
	for len(volts) > 0 && w.err == nil {
		n := min(len(volts), (cap(w.buf)-len(w.buf))/width)
		if n == 0 {
			w.flush()
			continue
		}
		from := len(w.buf)
		w.buf = w.buf[:from+n*width]
		done, clipped := w.encode(w.buf[from:], volts[:n], w.format.FullScale)
		w.buf = w.buf[:from+done*width]
		w.samples += int64(done)
		w.clipped += clipped
		if done < n {
			w.err = fmt.Errorf("wav: sample %d: expected volts, found NaN: "+noGaps, w.samples)
		}
		volts = volts[n:]
	}
	return w.err
}

// WriteBlock appends the samples of a block. They must follow each other, and those of the last block, at the format's
// rate to less than a tick. The first sample, or the gap before it, is where the file begins. Gaps are written as NaN
// in floating point and are an error in PCM.
func (w *Writer) WriteBlock(b *capture.Block) error {
	if b.Gap.Present() {
		w.writeGap(b.Gap)
	}
	if w.err != nil {
		return w.err
	}
	for i, at := range b.SampleAt {
		if !w.grid.fits(at) {
			w.err = fmt.Errorf("wav: sample %d: expected at %s, found at %s: samples must be evenly spaced",
				w.samples+int64(i), w.time(w.grid.next), w.time(at))
			return w.err
		}
		w.grid.advance()
	}
	return w.append(b.Volts)
}

func (w *Writer) time(t capture.Tick) string { return text.Seconds(w.format.Clock, t) }

func (w *Writer) writeGap(g capture.Gap) {
	if !w.format.Float && w.err == nil {
		w.err = fmt.Errorf("wav: sample %d: expected no gap, found one from %s to %s: "+noGaps, w.samples, w.time(g.From), w.time(g.To))
	}
	w.grid.startAt(g.From)
	lost := [1]float64{math.NaN()}
	for w.err == nil && w.grid.next < g.To && !w.grid.fits(g.To) {
		w.append(lost[:])
		w.grid.advance()
	}
}

// flush hands the buffer to the output.
func (w *Writer) flush() {
	if w.broken || len(w.buf) == 0 {
		return
	}
	n, err := w.out.Write(w.buf)
	if err == nil && n < len(w.buf) {
		err = io.ErrShortWrite
	}
	w.fail(err)
	w.buf = w.buf[:0]
}

func (w *Writer) fail(err error) {
	if err == nil {
		return
	}
	w.broken = true
	if w.err == nil {
		w.err = fmt.Errorf("wav: %w", err)
	}
}

// Close writes what is left and corrects the sizes, also after an error that was not the output's. It doesn't close
// the output. Its error is the first one of the writer.
func (w *Writer) Close() error {
	if w.closed {
		return w.err
	}
	w.closed = true
	odd := w.samples*int64(w.format.Bits/8)%2 == 1
	w.flush()
	if w.seek == nil || w.broken {
		return w.err
	}
	if odd {
		w.buf = append(w.buf, 0)
		w.flush()
	}
	w.correct()
	return w.err
}

// correct writes the header once more, now that the size is known.
func (w *Writer) correct() {
	if w.broken {
		return
	}
	end, err := w.seek.Seek(0, io.SeekCurrent)
	if err == nil {
		_, err = w.seek.Seek(w.start, io.SeekStart)
	}
	if w.fail(err); w.broken {
		return
	}
	w.buf = w.format.appendHeader(w.buf[:0], true, w.samples)
	w.flush()
	if !w.broken {
		_, err = w.seek.Seek(end, io.SeekStart)
		w.fail(err)
	}
}
