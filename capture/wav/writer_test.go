package wav_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/capture/wav"
)

// file is a file in memory.
type file struct {
	data []byte
	at   int
}

func (f *file) Write(p []byte) (int, error) {
	f.data = append(f.data, make([]byte, max(0, f.at+len(p)-len(f.data)))...)
	f.at += copy(f.data[f.at:], p)
	return len(p), nil
}

func (f *file) Seek(to int64, whence int) (int64, error) {
	f.at = int(to) + [3]int{0, f.at, len(f.data)}[whence]
	return int64(f.at), nil
}

func writer(t *testing.T, w io.Writer, f wav.Format) *wav.Writer {
	t.Helper()
	wr, err := wav.NewWriter(w, f)
	if err != nil {
		t.Fatal(err)
	}
	return wr
}

func write(t *testing.T, w io.Writer, f wav.Format, volts ...float64) *wav.Writer {
	t.Helper()
	wr := writer(t, w, f)
	if err := errors.Join(wr.Write(volts), wr.Close()); err != nil {
		t.Fatal(err)
	}
	return wr
}

// junk is what a file that can be corrected has more than a stream.
var junk = ck("JUNK", strings.Repeat("\x00", 28))

// The published vector, as a stream and as a file.
func TestWriteVector(t *testing.T) {
	f := wav.Format{Rate: 8000, Bits: 16, FullScale: 32768}
	var stream bytes.Buffer
	write(t, &stream, f, 0, 16384, -16384, 32767)
	const unknown = "\xff\xff\xff\xff"
	want := vector[:4] + unknown + vector[8:40] + unknown + vector[44:]
	if stream.String() != want {
		t.Errorf("stream\ngot  %x\nwant %x", stream.String(), want)
	}
	var whole file
	write(t, &whole, f, 0, 16384, -16384, 32767)
	want = vector[:4] + u32(44+36) + vector[8:12] + junk + vector[12:]
	if string(whole.data) != want {
		t.Errorf("file\ngot  %x\nwant %x", whole.data, want)
	}
}

func TestWriteFloatHeader(t *testing.T) {
	var whole file
	write(t, &whole, wav.Format{Rate: 1000, Bits: 32, Float: true, FullScale: 2}, 1, -3)
	want := riff(junk, ck("fmt ", u16(3)+u16(1)+u32(1000)+u32(4000)+u16(4)+u16(32)+u16(0)), ck("fact", u32(2)), ck("data", f32(0.5, -1.5)))
	if string(whole.data) != want {
		t.Errorf("\ngot  %x\nwant %x", whole.data, want)
	}
}

// A file that doesn't begin at 0, an odd number of bytes, and the output left standing at its end.
func TestWriteInside(t *testing.T) {
	whole := file{data: []byte("before and more than that"), at: 6}
	write(t, &whole, wav.Format{Rate: 1000, Bits: 8}, 0.5)
	want := riff(junk, ck("fmt ", u16(1)+u16(1)+u32(1000)+u32(1000)+u16(1)+u16(8)), ck("data", "\xC0"))
	if string(whole.data) != "before"+want || whole.at != len(whole.data) {
		t.Errorf("at %d\ngot  %x\nwant %x", whole.at, whole.data, want)
	}
}

// A pipe can be asked to seek but can't.
func TestWritePipe(t *testing.T) {
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	write(t, w, wav.Format{Rate: 1000, Bits: 8}, 0.5, -0.5, 0)
	w.Close()
	data, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	expect(t, string(data), wav.Options{}, "0..3072 unknown 0:0.5V 1024:-0.5V 2048:0V", "")
}

// Half a step goes to the even code; beyond the range stands the greatest or least code, and is counted.
func TestRoundingAndClipping(t *testing.T) {
	for _, c := range []struct {
		bits    int
		volts   []float64
		want    []float64
		clipped int64
	}{
		{8, []float64{0.5, 1.5, -0.5, -1.5, 2.5000001}, []float64{0, 2, 0, -2, 3}, 0},
		{8, []float64{127, 127.5, 128, 1e9, math.Inf(1), -128, -128.5, -129}, []float64{127, 127, 127, 127, 127, -128, -128, -128}, 5},
		{16, []float64{32767.5, -32768.5, 32766.5, 1e300}, []float64{32767, -32768, 32766, 32767}, 2},
		{24, []float64{8388607.5, -8388609, 8388606.5}, []float64{8388607, -8388608, 8388606}, 2},
		{32, []float64{2147483647.5, -2147483649, math.Inf(-1)}, []float64{2147483647, -2147483648, -2147483648}, 3},
	} {
		var out file
		full := math.Ldexp(1, c.bits-1)
		w := write(t, &out, wav.Format{Rate: 1000, Bits: c.bits, FullScale: full}, c.volts...)
		got, err := format(wav.Options{FullScale: full}).Read(out.data)
		if err != nil || fmt.Sprint(got.Volts) != fmt.Sprint(c.want) || w.Clipped() != c.clipped {
			t.Errorf("%d bits: got %v, %d clipped, error %v; want %v, %d clipped", c.bits, got.Volts, w.Clipped(), err, c.want, c.clipped)
		}
	}
	var out file
	w := write(t, &out, wav.Format{Rate: 1000, Bits: 32, Float: true, FullScale: 1e-3}, 1e300, -1e300)
	got, err := format(wav.Options{}).Read(out.data)
	if err != nil || fmt.Sprint(got.Volts) != fmt.Sprint([]float64{math.MaxFloat32, -math.MaxFloat32}) || w.Clipped() != 2 {
		t.Errorf("floating point: got %v, %d clipped, error %v", got.Volts, w.Clipped(), err)
	}
	out = file{}
	w = write(t, &out, wav.Format{Rate: 1000, Bits: 64, Float: true, FullScale: 1e-10}, -1e300)
	got, err = format(wav.Options{}).Read(out.data)
	if err != nil || fmt.Sprint(got.Volts) != fmt.Sprint([]float64{-math.MaxFloat64}) || w.Clipped() != 1 {
		t.Errorf("floating point of 64 bits: got %v, %d clipped, error %v", got.Volts, w.Clipped(), err)
	}
}

// Beyond 4 GiB of file the sizes have 64 bits. The output has but the header: the writer is told that it wrote more.
func TestWriteBeyond4GiB(t *testing.T) {
	const most = math.MaxUint32 - 1 - 72 // bytes of data that leave a RIFF size below FFFFFFFF
	for _, c := range []struct {
		bits    int
		samples int64
		id      string
	}{
		{8, most, "RIFF"}, {8, most + 1, "RF64"}, {16, most / 2, "RIFF"}, {16, most/2 + 1, "RF64"}, {24, 5_000_000_000, "RF64"},
	} {
		var out file
		w := writer(t, &out, wav.Format{Rate: 1000, Bits: c.bits})
		w.Pretend(c.samples)
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		size := c.samples * int64(c.bits/8)
		riffSize := uint64(72 + size + size%2)
		head := "RIFF" + u32(uint32(riffSize)) + "WAVE" + junk
		if c.id == "RF64" {
			head = "RF64" + u32(math.MaxUint32) + "WAVE" + ck("ds64", u64(riffSize)+u64(uint64(size))+u64(uint64(c.samples))+u32(0))
		}
		if got := string(out.data[:48]); got != head {
			t.Errorf("%d bits, %d samples\ngot  %x\nwant %x", c.bits, c.samples, got, head)
		}
		_, err := format(wav.Options{}).Read(out.data[:80])
		want := fmt.Sprintf("t.wav: byte 80: at 0 s: expected %d samples as declared, found the end of the file after 0 samples: it was cut", c.samples)
		if err == nil || err.Error() != want {
			t.Errorf("%d bits\ngot  %v\nwant %s", c.bits, err, want)
		}
	}
}

func TestWriterFormats(t *testing.T) {
	for _, c := range []struct {
		format wav.Format
		want   string
	}{
		{wav.Format{Bits: 16}, "wav: expected 1 to 4294967295 samples a second, found 0"},
		{wav.Format{Rate: 1 << 32, Bits: 16}, "wav: expected 1 to 4294967295 samples a second, found 4294967296"},
		{wav.Format{Rate: 1, Bits: 12}, "wav: expected 8, 16, 24 or 32 bits, found 12"},
		{wav.Format{Rate: 1, Bits: 16, Float: true}, "wav: expected 32 or 64 bits of floating point, found 16"},
		{wav.Format{Rate: 1, Bits: 16, FullScale: -1}, "wav: expected a full scale above 0 V, found -1"},
		{wav.Format{Rate: 1, Bits: 16, FullScale: math.NaN()}, "wav: expected a full scale above 0 V, found NaN"},
		{wav.Format{Rate: 1, Bits: 16, Clock: capture.Clock{Num: 5}}, "wav: expected a clock of positive terms, Den times Rate below 2^62, found 5/0"},
		{wav.Format{Rate: 1 << 31, Bits: 16, Clock: capture.Clock{Num: 5, Den: 1 << 40}},
			"wav: expected a clock of positive terms, Den times Rate below 2^62, found 5/1099511627776"},
	} {
		if _, err := wav.NewWriter(new(bytes.Buffer), c.format); err == nil || err.Error() != c.want {
			t.Errorf("%+v\ngot  %v\nwant %s", c.format, err, c.want)
		}
	}
}

// failing takes so many bytes.
type failing struct {
	left int
	err  error
}

func (f *failing) Write(p []byte) (int, error) {
	if len(p) > f.left {
		return f.left, f.err
	}
	f.left -= len(p)
	return len(p), nil
}

func TestFailingOutput(t *testing.T) {
	full := errors.New("disk full")
	for _, c := range []struct{ err, want error }{{full, full}, {nil, io.ErrShortWrite}} {
		w := writer(t, &failing{300_000, c.err}, wav.Format{Rate: 1000, Bits: 64, Float: true})
		var first error
		for range 100 {
			err := w.Write(make([]float64, 1000))
			if first == nil {
				first = err
			}
			if err != first {
				t.Fatalf("got %v after %v", err, first)
			}
		}
		if !errors.Is(first, c.want) || w.Close() != first || w.Close() != first {
			t.Errorf("got %v, on closing %v", first, w.Close())
		}
	}
	w := writer(t, &failing{10, full}, wav.Format{Rate: 1000, Bits: 8})
	if err := w.Write([]float64{1}); err != nil {
		t.Error(err)
	}
	if err := w.Close(); !errors.Is(err, full) {
		t.Errorf("closing: %v", err)
	}
}

func TestWriteAfterClose(t *testing.T) {
	var out file
	w := write(t, &out, wav.Format{Rate: 1000, Bits: 8}, 0)
	const want = "wav: expected samples before Close, found some behind it"
	if err := w.Write([]float64{0}); err == nil || err.Error() != want {
		t.Errorf("got %v", err)
	}
}
