package file_test

import (
	"bytes"
	"errors"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/capture/file"
	"linewitness/capture/internal/rows/rowstest"
)

func TestFormatOf(t *testing.T) {
	for name, want := range map[string]string{"a.vcd": "vcd", "dir.wav/b.CSV": "csv", ".wav": "wav", "a.b.pcapng": "pcapng", "a": "", "wav": "", "a.txt": "", "-": ""} {
		got, err := file.FormatOf(name)
		if bad := errors.As(err, new(*file.EndingError)); got != want || bad != (want == "") || (err != nil) != bad {
			t.Errorf("%s: got %q, error %v", name, got, err)
		}
	}
}

// write gives a file of the blocks, or the first error.
func write(format string, info capture.Info, opt file.CreateOptions, blocks ...capture.Block) ([]byte, file.Writer, error) {
	var out bytes.Buffer
	w, err := file.Create(&out, format, info, opt)
	if err != nil {
		return nil, nil, err
	}
	for i := range blocks {
		if err = w.Write(&blocks[i]); err != nil {
			break
		}
	}
	if closed := w.Close(); err == nil {
		err = closed
	}
	return out.Bytes(), w, err
}

// even are blocks of samples at a rate, in nanoseconds, with a gap after the first block if lost is above 0.
func even(t *rapid.T, rate, lost int64) (blocks []capture.Block, want []float64) {
	tick := func(i int64) capture.Tick { return capture.Tick((i*1e9 + rate/2) / rate) }
	at := int64(0)
	for range rapid.IntRange(1, 4).Draw(t, "blocks") {
		b := capture.Block{Start: tick(at)}
		if len(blocks) == 1 && lost > 0 {
			b.Gap = capture.Gap{From: tick(at), To: tick(at + lost), Count: -1, Why: capture.GapDamaged}
			at += lost
			b.Start = tick(at)
		}
		for range rapid.IntRange(100, 300).Draw(t, "samples") {
			v := rapid.Float64Range(-50, 50).Draw(t, "volts")
			b.SampleAt, b.Volts, want = append(b.SampleAt, tick(at)), append(b.Volts, v), append(want, v)
			at++
		}
		b.End = tick(at)
		blocks = append(blocks, b)
	}
	return blocks, want
}

// The rate is told from the instants, also from those rounded to nanoseconds; volts and lost intervals come back.
func TestWaveReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom([]int64{1000, 8000, 11025, 44100, 48000, 100_000, 192_000, 1_000_000}).Draw(t, "rate")
		lost := rapid.Int64Range(0, 100).Draw(t, "lost")
		blocks, want := even(t, rate, lost)
		data, w, err := write("wav", capture.Info{Clock: capture.Nanoseconds, Volts: true}, file.CreateOptions{Bits: 64, Float: true}, blocks...)
		if err != nil || len(w.Left()) > 0 {
			t.Fatalf("error %v, left out %q", err, w.Left())
		}
		s, err := file.Open("-", bytes.NewReader(data), file.Options{FullScale: 1})
		if err != nil {
			t.Fatal(err)
		}
		c := rowstest.Content(t, s)
		if got := s.Info().Clock; got != (capture.Clock{Num: rate * 1024, Den: 1}) {
			t.Fatalf("clock %v, want a rate of %d", got, rate)
		}
		if len(c.Volts) != len(want) {
			t.Fatalf("%d samples, want %d", len(c.Volts), len(want))
		}
		for i, v := range want {
			if c.Volts[i] != v {
				t.Fatalf("sample %d is %v V, want %v V", i, c.Volts[i], v)
			}
		}
		if end := s.Info().Clock.Seconds(c.End) - capture.Nanoseconds.Seconds(blocks[len(blocks)-1].End); math.Abs(end) > 1e-9 {
			t.Fatalf("the end is off by %v s", end)
		}
		if gaps := len(c.Gaps); gaps > 1 || gaps == 1 && int64(c.Gaps[0].To-c.Gaps[0].From) != lost*1024 || gaps == 0 && lost > 0 && len(blocks) > 1 {
			t.Fatalf("gaps %v, want one of %d samples", c.Gaps, lost)
		}
	})
}

func samples(at ...capture.Tick) capture.Block {
	b := capture.Block{End: 1}
	for _, t := range at {
		b.SampleAt, b.Volts, b.End = append(b.SampleAt, t), append(b.Volts, 0.5), t+1
	}
	return b
}

func TestRefused(t *testing.T) {
	volts := capture.Info{Clock: capture.Clock{Num: 1000, Den: 1}, Volts: true}
	levels := capture.Info{Clock: capture.Nanoseconds, Levels: true}
	both := capture.Info{Clock: capture.Nanoseconds, Levels: true, Volts: true}
	relative := capture.Info{Clock: capture.Nanoseconds, Volts: true, FullScale: 1, Relative: true}
	lost := samples(4, 5)
	lost.Start, lost.Gap = 4, capture.Gap{From: 2, To: 4, Count: -1, Why: capture.GapUnknown}
	loud := samples(1, 2)
	loud.Volts[1] = 12
	pcm := file.CreateOptions{Bits: 16, FullScale: 10}
	for _, c := range []struct {
		name, format string
		info         capture.Info
		opt          file.CreateOptions
		blocks       []capture.Block
		want         string
		is           error
	}{
		{"levels", "wav", levels, file.CreateOptions{}, nil, "wav: expected volts, found levels only, which VCD and CSV hold and WAV does not", nil},
		{"levels beside volts", "wav", both, file.CreateOptions{}, nil, "wav: expected volts alone, found levels beside them, which VCD and CSV hold and WAV does not", nil},
		{"octets", "wav", volts, file.CreateOptions{}, []capture.Block{{End: 2, Octets: []capture.Octet{{At: 1}}}}, "wav: expected volts, found octets of a port", nil},
		{"fractions as VCD", "vcd", relative, file.CreateOptions{}, nil, "vcd: expected volts, found fractions of full scale: full scale was not said", file.ErrRelative},
		{"fractions as CSV", "csv", relative, file.CreateOptions{}, nil, "csv: expected volts, found fractions of full scale: full scale was not said", file.ErrRelative},
		{"integers of what", "wav", volts, file.CreateOptions{Bits: 16}, nil, "wav: expected the volts of the greatest integer: a full scale is missing", file.ErrFullScale},
		{"12 bits", "wav", volts, file.CreateOptions{Bits: 12, FullScale: 1}, nil, "wav: expected 8, 16, 24 or 32 bits, found 12", nil},
		{"one sample", "wav", volts, file.CreateOptions{}, []capture.Block{samples(1)}, "wav: expected two samples or more without a gap between, which tell the rate, found fewer", nil},
		{"uneven", "wav", volts, file.CreateOptions{}, []capture.Block{samples(1, 2, 3, 5, 6, 7, 8)},
			"wav: expected a whole number of samples a second, up to 4294967295, found 857.142857", nil},
		{"one late", "wav", volts, file.CreateOptions{}, []capture.Block{samples(0, 100, 200, 300, 440, 500)},
			"wav: sample 4: expected at 0.4 s, found at 0.44 s: samples must be evenly spaced", nil},
		{"every 3 s", "wav", capture.Info{Clock: capture.Clock{Num: 1000, Den: 1}, Volts: true}, file.CreateOptions{}, []capture.Block{samples(0, 3000, 6000)},
			"wav: expected a whole number of samples a second, up to 4294967295, found 0.333333333", nil},
		{"lost in integers", "wav", volts, pcm, []capture.Block{samples(0, 1), lost},
			"wav: sample 2: expected no gap, found one from 0.002 s to 0.004 s: PCM can't say that a sample is lost, floating point can", nil},
		{"beyond full scale", "wav", volts, pcm, []capture.Block{loud}, "wav: expected volts within a full scale of 10 V, found 1 sample beyond, which floating point would hold", nil},
		{"inexact", "csv", capture.Info{Clock: capture.Clock{Num: 3, Den: 1}, Volts: true}, file.CreateOptions{}, []capture.Block{samples(1)},
			"csv: expected an instant of whole nanoseconds, found 0.3333333333333333 s on a clock of 3 ticks a second: it would have to be rounded", file.ErrInexact},
		{"no format", "text", volts, file.CreateOptions{}, nil, "text: not supported: writing of text files", nil},
	} {
		_, _, err := write(c.format, c.info, c.opt, c.blocks...)
		if err == nil || err.Error() != c.want || c.is != nil && !errors.Is(err, c.is) {
			t.Errorf("%s\ngot  %v\nwant %s", c.name, err, c.want)
		}
	}
}

// What a format leaves out is said.
func TestLeft(t *testing.T) {
	start := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	info := capture.Info{Clock: capture.Clock{Num: 1000, Den: 1}, Volts: true, Tap: capture.LoopCurrent, Start: start, FullScale: 3}
	b := samples(4, 5, 6)
	b.Start, b.End = 2, 20
	b.Volts[1] = 0.1
	for _, c := range []struct {
		format string
		opt    file.CreateOptions
		want   string
	}{
		{"csv", file.CreateOptions{}, "the tap, loop-current; the wall time of its start, 2026-03-01T12:00:00Z; the full scale, 3 V"},
		{"vcd", file.CreateOptions{}, "the tap, loop-current; the wall time of its start, 2026-03-01T12:00:00Z; the full scale, 3 V"},
		{"wav", file.CreateOptions{}, "the tap, loop-current; the wall time of its start, 2026-03-01T12:00:00Z; that +1.0 stands for 3 V; " +
			"that the recording starts at 0.002 s and not at 0; the first 0.002 s, which have no sample; the last 0.013 s, which have no sample; " +
			"the digits of 3 samples beyond 24 bits"},
		{"wav", file.CreateOptions{Bits: 16, FullScale: 1}, "the tap, loop-current; the wall time of its start, 2026-03-01T12:00:00Z; " +
			"that the recording starts at 0.002 s and not at 0; the first 0.002 s, which have no sample; the last 0.013 s, which have no sample; " +
			"what is finer than steps of 3.05e-05 V"},
	} {
		_, w, err := write(c.format, info, c.opt, b)
		if err != nil {
			t.Errorf("%s: %v", c.format, err)
		} else if got := strings.Join(w.Left(), "; "); got != c.want {
			t.Errorf("%s\ngot  %s\nwant %s", c.format, got, c.want)
		}
	}
}

func TestFailingWave(t *testing.T) {
	full := errors.New("disk full")
	for _, c := range []struct{ err, want error }{{full, full}, {nil, io.ErrShortWrite}} {
		for _, room := range []int{0, 100, 300_000} {
			w, err := file.Create(&rowstest.Short{Left: room, Err: c.err}, "wav", capture.Info{Clock: capture.Nanoseconds, Volts: true}, file.CreateOptions{})
			b := new(capture.Block)
			for i := 0; i < 200 && err == nil; i++ {
				next(b)
				err = w.Write(b)
			}
			if closed := w.Close(); !errors.Is(closed, c.want) || err != nil && closed != err {
				t.Errorf("room for %d: got %v, then %v, want %v", room, err, closed, c.want)
			}
		}
	}
}

// next refills b with the following 1,000 samples at 1 MHz.
func next(b *capture.Block) {
	at := b.End
	b.Reset()
	b.Start = at
	for range 1000 {
		b.SampleAt, b.Volts = append(b.SampleAt, at), append(b.Volts, float64(at%7))
		at += 1000
	}
	b.End = at
}

// However long a recording is, what is held of it is bounded, and then nothing more is allocated.
func TestWaveAllocs(t *testing.T) {
	w, err := file.Create(io.Discard, "wav", capture.Info{Clock: capture.Nanoseconds, Volts: true}, file.CreateOptions{})
	b := new(capture.Block)
	write := func() {
		next(b)
		if err == nil {
			err = w.Write(b)
		}
	}
	for range 100 {
		write()
	}
	if n := testing.AllocsPerRun(50, write); n != 0 || err != nil {
		t.Errorf("%v allocations a block, error %v", n, err)
	}
}

// go test -run '^$' -bench BenchmarkCreate -count 6 ./capture/file
func BenchmarkCreate(b *testing.B) {
	for _, format := range []string{"vcd", "csv", "wav"} {
		b.Run("format="+format, func(b *testing.B) {
			var out count
			w, err := file.Create(&out, format, capture.Info{Clock: capture.Nanoseconds, Volts: true}, file.CreateOptions{})
			block := new(capture.Block)
			b.ReportAllocs()
			for b.Loop() {
				next(block)
				if err == nil {
					err = w.Write(block)
				}
			}
			if err != nil {
				b.Fatal(err)
			}
			b.SetBytes(int64(out) / int64(b.N))
		})
	}
}

type count int64

func (c *count) Write(p []byte) (int, error) {
	*c += count(len(p))
	return len(p), nil
}
