package csvfile_test

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/capture/csvfile"
	"linewitness/capture/internal/rows/rowstest"
)

func open(t rapid.TB, data []byte) *csvfile.Reader {
	r, err := csvfile.Open(bytes.NewReader(data), "written", csvfile.Options{})
	if err != nil {
		t.Fatalf("%v in\n%s", err, data)
	}
	return r
}

// What is written reads back equal, and the bytes do not show how the recording was cut.
func TestWriteAndRead(t *testing.T) {
	three := []capture.Level{capture.Low, capture.Mid, capture.High}
	both := []capture.GapWhy{capture.GapUnknown, capture.GapFloating}
	for _, s := range []rowstest.Shape{
		{Levels: true, Kinds: three, Why: both, Least: -4_000_000_000},
		{Volts: true, Why: both[:1], Least: -3},
		{Levels: true, Volts: true, Kinds: three, Why: both, OnSamples: true},
	} {
		rapid.Check(t, func(t *rapid.T) {
			whole, cut := s.Draw(t)
			info := capture.Info{Clock: capture.Nanoseconds, Levels: s.Levels, Volts: s.Volts}
			var one, other bytes.Buffer
			w, err := csvfile.NewWriter(&one, info, csvfile.WriteOptions{})
			rowstest.Write(t, w, err, whole)
			w, err = csvfile.NewWriter(&other, info, csvfile.WriteOptions{})
			rowstest.Write(t, w, err, cut)
			if !bytes.Equal(one.Bytes(), other.Bytes()) {
				t.Fatalf("whole\n%s\ncut\n%s", &one, &other)
			}
			r := open(t, one.Bytes())
			if d := rowstest.Diff(rowstest.Content(t, rowstest.NewSource(info, cut)), rowstest.Content(t, r)); d != "" {
				t.Fatalf("(-want +got)\n%s\n%s", d, &one)
			}
			if got := r.Info(); got.Levels != s.Levels || got.Volts != s.Volts {
				t.Fatalf("read %+v, wrote %+v", got, info)
			}
		})
	}
}

// A clock that is not in nanoseconds, as long as its instants are whole nanoseconds.
func TestOtherClocks(t *testing.T) {
	for _, c := range []struct {
		clock capture.Clock
		want  string
	}{
		{capture.Clock{Num: 1000, Den: 1}, "time_s,level\r\n-0.001,0\r\n0.064,1\r\n0.128,1\r\n"},
		{capture.Clock{Num: 1, Den: 100}, "time_s,level\r\n-100,0\r\n6400,1\r\n12800,1\r\n"},
		{capture.Clock{Num: 1e9, Den: 1}, "time_s,level\r\n-0.000000001,0\r\n0.000000064,1\r\n0.000000128,1\r\n"},
	} {
		var out bytes.Buffer
		w, err := csvfile.NewWriter(&out, capture.Info{Clock: c.clock, Levels: true}, csvfile.WriteOptions{})
		b := capture.Block{Start: -1, End: 128, First: capture.Low, Transitions: capture.Transitions{At: []capture.Tick{64}, To: []capture.Level{capture.High}}}
		if err := errors.Join(err, w.Write(&b), w.Close()); err != nil || out.String() != c.want {
			t.Errorf("%v: got %q, error %v, want %q", c.clock, &out, err, c.want)
		}
	}
	// 102,400,000 ticks a second: samples at 100 kHz stand at whole nanoseconds, ticks between them need not.
	sound := capture.Info{Clock: capture.Clock{Num: 100_000 * 1024, Den: 1}, Volts: true}
	for _, c := range []struct {
		at   capture.Tick
		want string
	}{
		{1024, ""},
		{1025, "csv: expected an instant of whole nanoseconds, found 0.000010009765625 s on a clock of 102400000 ticks a second: it would have to be rounded"},
	} {
		w, err := csvfile.NewWriter(io.Discard, sound, csvfile.WriteOptions{})
		if err != nil {
			t.Fatal(err)
		}
		err = w.Write(&capture.Block{End: 2048, Samples: capture.Samples{SampleAt: []capture.Tick{0, c.at}, Volts: []float64{1, 2}}})
		if closed := w.Close(); err == nil {
			err = closed
		}
		if err == nil && c.want != "" || err != nil && err.Error() != c.want {
			t.Errorf("sample at %d: got %v, want %s", c.at, err, c.want)
		}
	}
}

// A transition between samples repeats the volts, and that is told; what else is left out is told too.
func TestLeft(t *testing.T) {
	var out bytes.Buffer
	w, err := csvfile.NewWriter(&out, capture.Info{Clock: capture.Clock{Num: 1, Den: 1}, Levels: true, Volts: true}, csvfile.WriteOptions{})
	blocks := []capture.Block{
		{End: 9, First: capture.Low, Transitions: capture.Transitions{At: []capture.Tick{1, 4}, To: []capture.Level{capture.Mid, capture.High}},
			Doubt: []capture.Tick{0, 2}, Samples: capture.Samples{SampleAt: []capture.Tick{2, 9}, Volts: []float64{0.1, 23.8}}},
		{Start: 12, End: 13, First: capture.Low, Gap: capture.Gap{From: 9, To: 12, Count: 4, Why: capture.GapOverflow}},
	}
	for i := range blocks {
		err = errors.Join(err, w.Write(&blocks[i]))
	}
	if err := errors.Join(err, w.Close()); err != nil {
		t.Fatal(err)
	}
	const want = "time_s,level,volts\r\n0,0,\r\n1,mid,\r\n2,mid,0.1\r\n4,1,0.1\r\n9,x,\r\n12,0,\r\n13,0,\r\n"
	if out.String() != want {
		t.Errorf("got  %q\nwant %q", &out, want)
	}
	const left = "the doubt of 1 transition; the reason of 1 lost interval, unknown when read; the number of transitions lost in 1 interval; " +
		"1 value at the very start of a lost interval; " +
		"the cover of 1 transition before the first sample, lost when read; " +
		"the mark of 1 row as no sample: a transition with the volts of the sample before"
	if got := strings.Join(w.Left(), "; "); got != left {
		t.Errorf("left out\ngot  %s\nwant %s", got, left)
	}
}

func TestWriteRefused(t *testing.T) {
	levels := capture.Info{Clock: capture.Nanoseconds, Levels: true}
	for _, c := range []struct {
		name   string
		info   capture.Info
		blocks []capture.Block
		want   string
	}{
		{"nothing", capture.Info{Clock: capture.Nanoseconds}, nil, "csv: expected a recording of levels or volts, found neither"},
		{"no block", levels, nil, "csv: expected a recording of at least one block, found none"},
		{"octets", levels, []capture.Block{{End: 2, Octets: []capture.Octet{{At: 1}}}}, "csv: at 0.000000001 s: expected levels or volts, found octets of a port"},
		{"a hole", levels, []capture.Block{{End: 2}, {Start: 3, End: 4}}, "csv: expected a block that follows at 0.000000002 s, found one from 0.000000003 s"},
	} {
		w, err := csvfile.NewWriter(io.Discard, c.info, csvfile.WriteOptions{})
		for i := 0; i < len(c.blocks) && err == nil; i++ {
			err = w.Write(&c.blocks[i])
		}
		if w != nil {
			if closed := w.Close(); err == nil {
				err = closed
			}
		}
		if err == nil || err.Error() != c.want {
			t.Errorf("%s\ngot  %v\nwant %s", c.name, err, c.want)
		}
	}
}

func TestFailingOutput(t *testing.T) {
	full := errors.New("disk full")
	for _, c := range []struct{ err, want error }{{full, full}, {nil, io.ErrShortWrite}} {
		for _, room := range []int{0, 100, 65_600, 150_000} {
			w, err := csvfile.NewWriter(&rowstest.Short{Left: room, Err: c.err}, capture.Info{Clock: capture.Nanoseconds, Levels: true}, csvfile.WriteOptions{})
			next := rowstest.Run(true, false, 1000)
			for i := 0; i < 20 && err == nil; i++ {
				err = w.Write(next())
			}
			if closed := w.Close(); !errors.Is(closed, c.want) || err != nil && closed != err {
				t.Errorf("room for %d: got %v, then %v, want %v", room, err, closed, c.want)
			}
		}
	}
}

func TestWriteAllocs(t *testing.T) {
	info := capture.Info{Clock: capture.Nanoseconds, Levels: true, Volts: true}
	w, err := csvfile.NewWriter(io.Discard, info, csvfile.WriteOptions{})
	if err != nil {
		t.Fatal(err)
	}
	rowstest.Allocs(t, w, rowstest.Run(true, true, 4096))
}

// go test -run '^$' -bench BenchmarkWriter -count 6 ./capture/vcd
func BenchmarkWriter(b *testing.B) {
	for _, c := range []struct {
		name          string
		levels, volts bool
	}{{"content=levels", true, false}, {"content=volts", false, true}} {
		b.Run(c.name, func(b *testing.B) {
			var out count
			w, err := csvfile.NewWriter(&out, capture.Info{Clock: capture.Nanoseconds, Levels: c.levels, Volts: c.volts}, csvfile.WriteOptions{})
			if err != nil {
				b.Fatal(err)
			}
			next := rowstest.Run(c.levels, c.volts, 8192)
			b.ReportAllocs()
			for b.Loop() {
				if err := w.Write(next()); err != nil {
					b.Fatal(err)
				}
			}
			b.SetBytes(int64(out) / int64(b.N))
			b.ReportMetric(8192*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mevents/s")
		})
	}
}

type count int64

func (c *count) Write(p []byte) (int, error) {
	*c += count(len(p))
	return len(p), nil
}
