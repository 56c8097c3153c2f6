package vcd_test

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/capture/internal/rows/rowstest"
	"linewitness/capture/vcd"
)

var two = []capture.Level{capture.Low, capture.High}

func open(t rapid.TB, data []byte) *vcd.Reader {
	r, err := vcd.Open(bytes.NewReader(data), "written", vcd.Options{})
	if err != nil {
		t.Fatalf("%v in\n%s", err, data)
	}
	return r
}

// What is written reads back equal, and the bytes do not show how the recording was cut.
func TestWriteAndRead(t *testing.T) {
	all := []capture.GapWhy{capture.GapUnknown, capture.GapFloating, capture.GapPaused}
	for _, s := range []rowstest.Shape{
		{Levels: true, Kinds: two, Why: all},
		{Volts: true, Why: []capture.GapWhy{capture.GapUnknown, capture.GapPaused}},
		{Levels: true, Volts: true, Kinds: two, Why: all},
	} {
		rapid.Check(t, func(t *rapid.T) {
			whole, cut := s.Draw(t)
			clock := rapid.SampledFrom([]capture.Clock{{Num: 1e9, Den: 1}, {Num: 1e7, Den: 1}, {Num: 1e15, Den: 1}, {Num: 1, Den: 100}, {Num: 300, Den: 3}}).Draw(t, "clock")
			info := capture.Info{Clock: clock, Levels: s.Levels, Volts: s.Volts}
			var one, other bytes.Buffer
			w, err := vcd.NewWriter(&one, info, vcd.WriteOptions{})
			rowstest.Write(t, w, err, whole)
			w, err = vcd.NewWriter(&other, info, vcd.WriteOptions{})
			rowstest.Write(t, w, err, cut)
			if !bytes.Equal(one.Bytes(), other.Bytes()) {
				t.Fatalf("whole\n%s\ncut\n%s", &one, &other)
			}
			r := open(t, one.Bytes())
			if d := rowstest.Diff(rowstest.Content(t, rowstest.NewSource(info, cut)), rowstest.Content(t, r)); d != "" {
				t.Fatalf("(-want +got)\n%s\n%s", d, &one)
			}
			if got := r.Info(); got.Clock.PerSecond() != clock.PerSecond() || got.Levels != s.Levels || got.Volts != s.Volts {
				t.Fatalf("read %+v, wrote %+v", got, info)
			}
		})
	}
}

// The text, after IEEE 1364-2005 clause 18.2.
func TestText(t *testing.T) {
	blocks := []capture.Block{
		{Start: 5, End: 9, First: capture.High, Transitions: capture.Transitions{At: []capture.Tick{7}, To: []capture.Level{capture.Low}},
			Samples: capture.Samples{SampleAt: []capture.Tick{5, 6}, Volts: []float64{23.8, 1e-7}}},
		{Start: 12, End: 13, First: capture.Low, Gap: capture.Gap{From: 9, To: 12, Count: -1, Why: capture.GapPaused},
			Samples: capture.Samples{SampleAt: []capture.Tick{12}, Volts: []float64{0}}},
		{Start: 20, End: 20, Gap: capture.Gap{From: 13, To: 20, Count: 3, Why: capture.GapOverflow}},
	}
	var out bytes.Buffer
	w, err := vcd.NewWriter(&out, capture.Info{Clock: capture.Clock{Num: 1e5, Den: 1}, Levels: true, Volts: true}, vcd.WriteOptions{})
	for i := range blocks {
		err = errors.Join(err, w.Write(&blocks[i]))
	}
	if err := errors.Join(err, w.Close()); err != nil {
		t.Fatal(err)
	}
	const want = "$version linewitness $end\n$timescale 10 us $end\n$scope module line $end\n" +
		"$var wire 1 ! level $end\n$var real 64 \" volts $end\n$upscope $end\n$enddefinitions $end\n" +
		"#5\n$dumpvars\n1!\nr23.8 \"\n$end\n#6\nr1e-07 \"\n#7\n0!\n" +
		"#9\n$dumpoff\nx!\nrNaN \"\n$end\n#12\n$dumpon\n0!\nr0 \"\n$end\n#13\nx!\nrNaN \"\n#20\nx!\n"
	if out.String() != want {
		t.Errorf("got\n%s\nwant\n%s", &out, want)
	}
	const left = "the reason of 1 lost interval, unknown when read; the number of transitions lost in 1 interval"
	if got := strings.Join(w.Left(), "; "); got != left {
		t.Errorf("left out\ngot  %s\nwant %s", got, left)
	}
}

func TestRefused(t *testing.T) {
	levels := capture.Info{Clock: capture.Nanoseconds, Levels: true}
	sound := capture.Info{Clock: capture.Clock{Num: 48000 * 1024, Den: 1}, Volts: true}
	at := func(t ...capture.Tick) []capture.Tick { return t }
	for _, c := range []struct {
		name  string
		info  capture.Info
		round bool
		block capture.Block
		want  string
	}{
		{"nothing", capture.Info{Clock: capture.Nanoseconds}, false, capture.Block{}, "vcd: expected a recording of levels or volts, found neither"},
		{"no clock", capture.Info{Levels: true}, false, capture.Block{}, "vcd: expected a clock of positive terms, found 0/0"},
		{"mid", levels, false, capture.Block{Start: 5, End: 2e9, First: capture.Low,
			Transitions: capture.Transitions{At: at(1e9), To: []capture.Level{capture.Mid}}},
			"vcd: at 1 s: expected a level low or high, found mid: VCD has no third one"},
		{"before 0", levels, false, capture.Block{Start: -5e8, End: 2}, "vcd: expected a recording that starts at 0 s or later, which VCD can say, found -0.5 s"},
		{"octets", levels, false, capture.Block{End: 2, Octets: []capture.Octet{{At: 1}}}, "vcd: at 0.000000001 s: expected levels or volts, found octets of a port"},
		{"volts unsaid", levels, false, capture.Block{End: 2, Samples: capture.Samples{SampleAt: at(1), Volts: []float64{1}}},
			"vcd: at 0 s: expected what the recording has by its head, found other content"},
		{"sound", sound, false, capture.Block{End: 4096, Samples: capture.Samples{SampleAt: at(0, 1024), Volts: []float64{1, 2}}},
			"vcd: expected an instant of whole units of 1 ns, found 0.000020833333333333333 s on a clock of 49152000 ticks a second: it would have to be rounded"},
		{"20 ns apart, rounded", sound, true, capture.Block{End: 49155, Samples: capture.Samples{SampleAt: at(0, 49152, 49153, 49154), Volts: []float64{1, 2, 3, 4}}},
			""},
		{"too close", capture.Info{Clock: capture.Clock{Num: 3e9, Den: 1}, Levels: true}, true, capture.Block{End: 40, First: capture.Low,
			Transitions: capture.Transitions{At: at(30, 31), To: []capture.Level{capture.High, capture.Low}}},
			"vcd: at 0.000000010333333333333333 s: expected instants that differ in whole units of 1 ns, found a level that lasts less"},
		{"too far", capture.Info{Clock: capture.Clock{Num: 3, Den: 1}, Levels: true}, true, capture.Block{Start: 1 << 40, End: 1 << 41},
			"vcd: expected an instant of less than 2^63 units of 1 ns, found 366503875925.3333 s"},
	} {
		w, err := vcd.NewWriter(io.Discard, c.info, vcd.WriteOptions{Round: c.round})
		if err == nil {
			err = w.Write(&c.block)
			if closed := w.Close(); err == nil {
				err = closed
			}
			if again := w.Close(); (again == nil) != (err == nil) {
				t.Errorf("%s: error %v was not kept: %v", c.name, err, again)
			}
		}
		got := ""
		if err != nil {
			got = err.Error()
		}
		if got != c.want {
			t.Errorf("%s\ngot  %s\nwant %s", c.name, got, c.want)
		}
	}
}

// Rounded instants are off by half a nanosecond at most, and that is told.
func TestRounded(t *testing.T) {
	var out bytes.Buffer
	w, err := vcd.NewWriter(&out, capture.Info{Clock: capture.Clock{Num: 48000 * 1024, Den: 1}, Volts: true}, vcd.WriteOptions{Round: true})
	b := capture.Block{End: 3072, Samples: capture.Samples{SampleAt: []capture.Tick{0, 1024, 2048}, Volts: []float64{1, 2, 3}}}
	if err := errors.Join(err, w.Write(&b), w.Close()); err != nil {
		t.Fatal(err)
	}
	const want = "0..62500 unknown 0:1V 20833:2V 41667:3V" // 20833 1/3 and 41666 2/3
	if got := rowstest.Content(t, open(t, out.Bytes())).String(); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if got := w.Moved() * 1e9; got < 0.333333 || got > 0.333334 {
		t.Errorf("moved by %v ns, want 1/3", got)
	}
}

func TestFailingOutput(t *testing.T) {
	full := errors.New("disk full")
	for _, c := range []struct{ err, want error }{{full, full}, {nil, io.ErrShortWrite}} {
		for _, room := range []int{0, 100, 65_600, 150_000} {
			w, err := vcd.NewWriter(&rowstest.Short{Left: room, Err: c.err}, capture.Info{Clock: capture.Nanoseconds, Levels: true}, vcd.WriteOptions{})
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
	w, err := vcd.NewWriter(io.Discard, info, vcd.WriteOptions{})
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
			w, err := vcd.NewWriter(&out, capture.Info{Clock: capture.Nanoseconds, Levels: c.levels, Volts: c.volts}, vcd.WriteOptions{})
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
