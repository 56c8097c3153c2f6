package validate_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/validate"
)

// Percentiles are the nearest rank of the values themselves while there are few, and within half a per cent of it after.
func TestSketchPercentiles(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5000).Draw(t, "n")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		var s validate.Sketch
		var all []float64
		for range n {
			v := math.Exp(r.NormFloat64()*2) * 1e-3
			if r.IntN(3) == 0 {
				v = -v
			}
			s.Add(v)
			all = append(all, v)
		}
		s.Add(math.NaN())
		slices.Sort(all)
		if s.N() != int64(n) {
			t.Fatalf("%d values counted, %d added", s.N(), n)
		}
		for _, p := range []float64{0, 1, 50, 99, 100} {
			want := all[max(int(math.Ceil(p/100*float64(n)))-1, 0)]
			got := s.Percentile(p)
			if n <= 2048 && got != want || math.Abs(got-want) > 0.005*math.Abs(want)+1e-9 {
				t.Fatalf("n %d, p%g: got %g, want %g", n, p, got, want)
			}
		}
	})
	var empty validate.Sketch
	if !math.IsNaN(empty.Percentile(50)) {
		t.Error("an empty sketch has a median")
	}
}

// said is one frame of a dialogue, in milliseconds.
type said struct {
	at, end int64
	values  []uint16
	why     link.Why
	begins  bool
}

// heard is what the fold made of it.
type heard struct {
	side string
	poll bool
	turn int64 // ms, -1: none
	why  string
}

func fold(t *testing.T, p *link.Profile, frames []said, end int64) ([]heard, *validate.Fold) {
	t.Helper()
	clock := capture.Clock{Num: 1000, Den: 1}
	f := validate.NewFold(p, clock)
	var got []heard
	for _, s := range frames {
		r := link.Frame{At: capture.Tick(s.at), End: capture.Tick(s.end), Values: s.values, Why: s.why, Begins: s.begins, Turnaround: -1}
		f.Add(&r, &validate.Quality{Bias: math.NaN()})
		h := heard{r.Side.String(), r.Poll, int64(r.Turnaround), ""}
		for _, n := range r.Why.Names() {
			h.why += n + " "
		}
		got = append(got, h)
	}
	f.Finish(capture.Tick(end))
	return got, f
}

func twoTalkers() *link.Profile {
	p := &link.Profile{Controller: capture.SideA, Responder: capture.SideB, Line: uart.Line{Speed: 100}}
	p.Timing = link.Timing{TurnaroundMax: 0.05, TwoTalkers: true}
	return p
}

func TestDialogueByTime(t *testing.T) {
	t.Parallel()
	v := []uint16{1, 2, 3}
	for _, c := range []struct {
		name    string
		frames  []said
		end     int64
		want    []heard
		missing []capture.Tick
	}{
		{"poll, reply, poll, nothing, poll, reply", []said{
			{at: 0, end: 10, values: v}, {at: 30, end: 40, values: v}, {at: 400, end: 410, values: v}, {at: 800, end: 810, values: v}, {at: 820, end: 830, values: v},
		}, 900, []heard{{"a", true, -1, ""}, {"b", false, 20, ""}, {"a", true, -1, ""}, {"a", true, -1, ""}, {"b", false, 10, ""}}, []capture.Tick{400}},
		{"the last poll had time for a reply", []said{{at: 0, end: 10, values: v}}, 100, []heard{{"a", true, -1, ""}}, []capture.Tick{0}},
		{"the recording ended before the reply was due", []said{{at: 0, end: 10, values: v}}, 40, []heard{{"a", true, -1, ""}}, nil},
		{"nobody answers a bad poll", []said{{at: 0, end: 10, values: v, why: link.WhyChecksum}, {at: 400, end: 410, values: v}, {at: 420, end: 430, values: v}}, 500,
			[]heard{{"a", true, -1, "checksum "}, {"a", true, -1, ""}, {"b", false, 10, ""}}, nil},
		{"a gap forgets the poll", []said{{at: 0, end: 10, values: v}, {at: 600, end: 610, values: v, begins: true}, {at: 620, end: 630, values: v}}, 700,
			[]heard{{"a", true, -1, ""}, {"a", true, -1, ""}, {"b", false, 10, ""}}, nil},
		{"a burst in nobody's turn", []said{{at: 0, end: 10, values: v}, {at: 20, end: 30, values: v}, {at: 200, end: 201, values: v, why: link.WhyUnframed}}, 700,
			[]heard{{"a", true, -1, ""}, {"b", false, 10, ""}, {"unknown", false, -1, "unframed "}}, nil},
		{"a damaged reply is no missing one", []said{{at: 0, end: 10, values: v}, {at: 20, end: 30, values: v, why: link.WhyParity}}, 700,
			[]heard{{"a", true, -1, ""}, {"b", false, 10, "parity "}}, nil},
	} {
		got, f := fold(t, twoTalkers(), c.frames, c.end)
		if d := cmp.Diff(c.want, got, cmp.AllowUnexported(heard{})); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
		if d := cmp.Diff(c.missing, f.Senders[1].Missing.At); d != "" {
			t.Errorf("%s: missing at (-want +got):\n%s", c.name, d)
		}
	}
}

// Modbus frames say themselves whether they ask or answer, so a late reply is seen as late and not as a poll.
func TestDialogueByContent(t *testing.T) {
	t.Parallel()
	p := link.ModbusRTU(uart.Line{Speed: 9600, Format: uart.Format{DataBits: 8, StopHalfs: 2}})
	p.Timing.TurnaroundMax = 0.05
	poll := []uint16{0x11, 0x03, 0x00, 0x7C, 0x00, 0x02, 0x07, 0x43}
	reply := []uint16{0x11, 0x03, 0x04, 0x00, 0x8D, 0x00, 0x8E, 0xFB, 0xBD}
	exception := []uint16{0x11, 0x83, 0x02, 0xC1, 0x34}
	got, f := fold(t, p, []said{
		{at: 0, end: 5, values: reply}, // its poll came before the recording
		{at: 400, end: 410, values: poll}, {at: 430, end: 440, values: reply},
		{at: 800, end: 810, values: poll}, {at: 910, end: 920, values: reply},
		{at: 1200, end: 1210, values: poll}, {at: 1215, end: 1220, values: exception},
		{at: 1600, end: 1610, values: poll}, {at: 1620, end: 1630, values: poll},
	}, 2000)
	want := []heard{{"b", false, -1, ""}, {"a", true, -1, ""}, {"b", false, 20, ""}, {"a", true, -1, ""}, {"b", false, 100, "timing "},
		{"a", true, -1, ""}, {"b", false, 5, ""}, {"a", true, -1, ""}, {"a", true, -1, ""}}
	if d := cmp.Diff(want, got, cmp.AllowUnexported(heard{})); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	s := &f.Senders[1]
	if s.Late.N != 1 || s.Late.At[0] != 910 || s.Missing.N != 2 || s.Turn.N() != 3 {
		t.Errorf("late %+v, missing %+v, %d turn-arounds", s.Late, s.Missing, s.Turn.N())
	}
}

// Only the first 20 instants are kept, whatever the number.
func TestTimesAreBounded(t *testing.T) {
	t.Parallel()
	var frames []said
	for i := range int64(500) {
		frames = append(frames, said{at: i * 400, end: i*400 + 10, values: []uint16{1}})
	}
	_, f := fold(t, twoTalkers(), frames, 1e6)
	m := f.Senders[1].Missing
	if m.N != 500 || len(m.At) != validate.MostTimes || m.At[19] != 19*400 {
		t.Errorf("%d missing, %d kept, the last at %v", m.N, len(m.At), m.At)
	}
}
