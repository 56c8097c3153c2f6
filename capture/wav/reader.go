package wav

import (
	"fmt"
	"io"
	"math"
	"slices"

	"linewitness/capture"
	"linewitness/capture/internal/text"
)

const (
	ticksPerSample = 1024 // instants between samples can be told by interpolation
	mostSamples    = math.MaxInt64 / ticksPerSample
	defaultLimit   = 8192 // samples a block
)

// Options of Open.
type Options struct {
	FullScale    float64 // volts at +1.0; 0: nobody said, volts are fractions of it
	Channel      int     // the channel to read, from 1; 0: the only one
	BlockSamples int     // samples after which a block is cut; 0: 8192
	Size         int64   // bytes of the file; 0: not known
}

// Reader is a capture.Source.
type Reader struct {
	in    input
	info  capture.Info
	limit int

	decode decoder
	align  int     // bytes from one sample to the next
	inside int     // bytes from the start of a sample of all channels to that of the channel read
	scale  float64 // volts a step of the decoder
	one    [1]float64

	total    int64 // samples declared; mostSamples in a stream
	odd      int64 // bytes declared beyond the last whole sample
	streamed bool  // the recording lasts to the end of the file
	at       int64 // the next sample
	given    bool  // a block was given already
	err      error
}

// Open reads all that stands before the samples. The source is closed by Close if it is an io.Closer. Errors are
// *capture.FormatError, *capture.UnsupportedError, the source's own, or blame a full scale that is no positive number.
func Open(r io.Reader, name string, opt Options) (*Reader, error) {
	full := opt.FullScale
	if full < 0 || full-full != 0 {
		return nil, fmt.Errorf("%s: expected a full scale above 0 V, found %v", name, full)
	}
	rd := &Reader{limit: opt.BlockSamples}
	if rd.limit <= 0 {
		rd.limit = defaultLimit
	}
	rd.info = capture.Info{Name: name, Format: "wav", Volts: true, Size: opt.Size, FullScale: full}
	if full == 0 {
		rd.info.FullScale, rd.info.Relative = 1, true
	}
	rd.in = input{buf: make([]byte, bufferSize), name: name, src: r}
	if err := rd.header(opt.Channel); err != nil {
		return nil, err
	}
	return rd, nil
}

// Info describes the recording.
func (r *Reader) Info() capture.Info { return r.info }

// BytesRead is how many bytes were taken from the source so far. It may be called from any goroutine.
func (r *Reader) BytesRead() int64 { return r.in.read.Load() }

// Close closes the source.
func (r *Reader) Close() error {
	if c, ok := r.in.src.(io.Closer); ok {
		return c.Close()
	}
	return nil
}

// Next refills b. What stands before an error is given first.
func (r *Reader) Next(b *capture.Block) error {
	if r.err != nil {
		return r.err
	}
	b.Reset()
	from := r.at
	r.passDamaged()
	b.Start = tick(r.at)
	if r.at > from {
		b.Gap = capture.Gap{From: tick(from), To: b.Start, Count: -1, Why: capture.GapDamaged}
	}
	r.fill(b)
	b.End = tick(r.at)
	if r.at > from {
		r.given = true
		return nil
	}
	r.err = r.ending()
	if r.err == io.EOF && !r.given {
		r.given = true // a whole recording of no samples is one empty block
		return nil
	}
	return r.err
}

func tick(sample int64) capture.Tick { return capture.Tick(sample * ticksPerSample) }

// ready is how many samples can be decoded from the buffer; 0: there are no more.
func (r *Reader) ready() int {
	if r.at == r.total || !r.in.ensure(r.align) {
		return 0
	}
	return int(min(int64(r.in.unread()/r.align), r.total-r.at))
}

// passDamaged passes over samples that are no numbers.
func (r *Reader) passDamaged() {
	for r.ready() > 0 && r.decode(r.one[:], r.in.buf[r.in.pos+r.inside:r.in.end], r.align, r.scale) == 0 {
		r.in.pos += r.align
		r.at++
	}
}

// fill takes samples up to the limit, the first damaged one, or the end.
func (r *Reader) fill(b *capture.Block) {
	for have := 0; have < r.limit; {
		want := min(r.ready(), r.limit-have)
		if want == 0 {
			return
		}
		b.Volts = slices.Grow(b.Volts, want)[:have+want]
		n := r.decode(b.Volts[have:], r.in.buf[r.in.pos+r.inside:r.in.end], r.align, r.scale)
		have += n
		b.Volts = b.Volts[:have]
		b.SampleAt = appendTicks(b.SampleAt, tick(r.at), n)
		r.in.pos += n * r.align
		r.at += int64(n)
		if n < want {
			return
		}
	}
}

// appendTicks appends the instants of n samples from t on.
func appendTicks(at []capture.Tick, t capture.Tick, n int) []capture.Tick {
	at = slices.Grow(at, n)[:len(at)+n]
	added := at[len(at)-n:]
	for i := range added {
		added[i] = t
		t += ticksPerSample
	}
	return at
}

// ending is what stands after the last whole sample.
func (r *Reader) ending() error {
	if r.at == r.total && !r.streamed {
		if r.odd > 0 {
			return r.bad(r.in.offset(), "data in whole samples of "+count(int64(r.align), "byte"), count(r.odd, "byte")+" more")
		}
		return io.EOF
	}
	if err := r.in.failure(); err != nil {
		return err
	}
	rest := int64(r.in.unread())
	if r.streamed {
		if rest == 0 {
			return io.EOF
		}
		found := fmt.Sprintf("the end of the file after %s: it was cut", count(rest, "byte"))
		return r.bad(r.in.offset()+rest, "a whole sample of "+count(int64(r.align), "byte"), found)
	}
	found := "the end of the file after " + count(r.at, "sample")
	if rest > 0 {
		found += " and " + count(rest, "byte")
	}
	return r.bad(r.in.offset()+rest, count(r.total, "sample")+" as declared", found+": it was cut")
}

func count(n int64, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// bad blames the place at in the file.
func (r *Reader) bad(at int64, expected, found string) error {
	e := &capture.FormatError{Name: r.info.Name, Offset: at, Expected: expected, Found: found}
	if r.total > 0 { // the samples have begun
		e.Time = text.Seconds(r.info.Clock, tick(r.at))
	}
	return e
}
