package file_test

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/file"
)

// copied writes all of src in a format and opens it again.
func copied(t rapid.TB, src capture.Source, format string, opt file.CreateOptions) ([]byte, capture.Source) {
	var out bytes.Buffer
	w, err := file.Create(&out, format, src.Info(), opt)
	var b capture.Block
	for err == nil {
		if err = src.Next(&b); err == nil {
			err = w.Write(&b)
		}
	}
	if !errors.Is(err, io.EOF) {
		t.Fatalf("%s: %v", format, err)
	}
	if err := w.Close(); err != nil {
		t.Fatalf("%s: %v", format, err)
	}
	s, err := file.Open("-", bytes.NewReader(out.Bytes()), file.Options{FullScale: opt.FullScale})
	if err != nil {
		t.Fatalf("%s: %v", format, err)
	}
	return out.Bytes(), s
}

// Every shipped recording through a log and back is what it was, to the byte where its own writer made it.
func TestThroughALog(t *testing.T) {
	t.Parallel()
	names, err := filepath.Glob(filepath.Join("..", "..", "fixtures", "recordings", "*.*"))
	if err != nil || len(names) < 10 {
		t.Fatalf("%d recordings, error %v", len(names), err)
	}
	for _, name := range names {
		format, err := file.FormatOf(name)
		if err != nil {
			continue // the list of them
		}
		opt := file.CreateOptions{Bits: 16}
		open := func() capture.Source {
			s, err := file.Open(name, nil, file.Options{})
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { s.Close() })
			return s
		}
		direct, _ := copied(t, open(), format, opt)
		log, again := copied(t, open(), "pcapng", opt)
		back, _ := copied(t, again, format, opt)
		if !bytes.Equal(direct, back) {
			t.Errorf("%s: %d bytes written at once, %d through a log", filepath.Base(name), len(direct), len(back))
		}
		if info, err := os.Stat(name); err == nil {
			t.Logf("%s: %d bytes, as a log %d", filepath.Base(name), info.Size(), len(log))
		}
	}
}

// Levels and volts of any kind, with lost intervals, come through a log as they were.
func TestLogReadsBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom([]int64{1000, 44100, 192_000}).Draw(t, "rate")
		blocks, _ := even(t, rate, rapid.Int64Range(0, 50).Draw(t, "lost"))
		info := capture.Info{Clock: capture.Nanoseconds, Volts: true, Tap: capture.Pair}
		data, w, err := write("pcapng", info, file.CreateOptions{}, blocks...)
		if err != nil || len(w.Left()) > 0 || w.Moved() != 0 {
			t.Fatalf("error %v, left %q", err, w.Left())
		}
		s, err := file.Open("-", bytes.NewReader(data), file.Options{})
		if err != nil {
			t.Fatal(err)
		}
		got, err := capturetest.Collect(s)
		if err != nil {
			t.Fatal(err)
		}
		want := capturetest.Content{}
		for i := range blocks {
			want.SampleAt, want.Volts = append(want.SampleAt, blocks[i].SampleAt...), append(want.Volts, blocks[i].Volts...)
		}
		if d := cmp.Diff(want.Samples, got.Samples); d != "" {
			t.Fatalf("(-want +got)\n%s", d)
		}
		if i := s.Info(); i.Tap != capture.Pair || i.Clock != capture.Nanoseconds || !i.Volts {
			t.Fatalf("info %+v", i)
		}
	})
}

// Fractions of full scale stay fractions in a log, until somebody says what full scale was.
func TestLogOfFractions(t *testing.T) {
	t.Parallel()
	b := samples(1, 2, 3)
	data, _, err := write("pcapng", capture.Info{Clock: capture.Nanoseconds, Volts: true, FullScale: 1, Relative: true}, file.CreateOptions{}, b)
	if err != nil {
		t.Fatal(err)
	}
	for full, want := range map[float64]float64{0: 0.5, 40: 20} {
		s, err := file.Open("-", bytes.NewReader(data), file.Options{FullScale: full})
		if err != nil {
			t.Fatal(err)
		}
		c, err := capturetest.Collect(s)
		if err != nil || len(c.Volts) != 3 || c.Volts[2] != want || s.Info().Relative != (full == 0) {
			t.Errorf("full scale %v: %v, info %+v, error %v", full, c.Volts, s.Info(), err)
		}
		if n := s.(file.Source).BytesRead(); n != int64(len(data)) {
			t.Errorf("read %d of %d", n, len(data))
		}
	}
}
