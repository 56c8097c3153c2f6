package decode_test

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/slicer"
)

// The slicer's levels and instants are those of a circuit that ngspice computed: levels within 2 %, every transition and
// no other, each within 5 us or 1 % of a bit, or within what it says itself, which is never more than one sample.
func TestVoltsAgreeWithCircuitSimulator(t *testing.T) {
	t.Parallel()
	needs(t, "ngspice")
	var mu sync.Mutex
	var table []string
	t.Cleanup(func() {
		slices.Sort(table)
		t.Logf("circuit, rate, transitions: within 5 us or 1 %% of a bit, not so, within their doubt; worst; largest doubt\n%s",
			strings.Join(table, "\n"))
	})
	for name, cases := range loopTables {
		for _, c := range cases {
			t.Run(name+"/"+c.name, func(t *testing.T) {
				t.Parallel()
				w := runLoop(t, c.loopCircuit)
				want := w.crossings(t)
				for _, rate := range []int{20e3, 50e3} {
					if float64(rate) < 4*c.speed {
						continue // fewer than 4 samples a bit: not every bit has a sample at rest
					}
					t.Run(fmt.Sprintf("%d kSa per s", rate/1000), func(t *testing.T) {
						s := sliceVolts(t, w, rate, 4096, slicer.Options{Kind: slicer.Loop})
						checkLevels(t, w, s)
						row := checkInstants(t, c, w, s, want)
						mu.Lock()
						defer mu.Unlock()
						table = append(table, fmt.Sprintf("%-16s %-22s %s", name, c.name, row))
					})
				}
			})
		}
	}
}

// sliced is what the slicer made of a recording. A first stretch of unknown level is where it had yet to see a jump: the
// step from there to the first level is no transition of the line.
type sliced struct {
	rate  int
	first capture.Level // the first that is known
	known capture.Tick  // since when
	capture.Transitions
	doubt []capture.Tick
	found slicer.Found
}

// sliceVolts records a waveform with 20 mV of noise and slices it in pieces.
func sliceVolts(t *testing.T, w *waveform, rate, size int, opt slicer.Options) *sliced {
	t.Helper()
	src := capturetest.Pieces(w.info(rate), w.sample(rate, 0.020), size)
	s := slicer.New(src.Info().Clock, opt)
	got := &sliced{rate: rate}
	var last *capture.Block
	emit := func(b *capture.Block) error {
		if err := capturetest.Check(last, b); err != nil {
			return err
		}
		if len(b.Doubt) != len(b.At) {
			return fmt.Errorf("%d transitions with %d doubts", len(b.At), len(b.Doubt))
		}
		if last == nil {
			last = new(capture.Block)
		}
		b.CopyTo(last)
		got.add(b)
		return nil
	}
	for b := range blocks(t, src) {
		if err := s.Add(b, emit); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Flush(emit); err != nil {
		t.Fatal(err)
	}
	got.found = s.Found()
	return got
}

// add takes a block's transitions.
func (s *sliced) add(b *capture.Block) {
	if s.first == capture.Unknown {
		s.first, s.known = b.First, b.Start
	}
	for i, at := range b.At {
		if s.first == capture.Unknown {
			s.first, s.known = b.To[i], at
			continue
		}
		s.At, s.To, s.doubt = append(s.At, at), append(s.To, b.To[i]), append(s.doubt, b.Doubt[i])
	}
}

// byName are the volts of Unknown, Low, Mid and High.
type byName = [capture.High + 1]float64

// seen are the levels that have volts, from 0 V outwards.
func seen(v byName) (levels []capture.Level) {
	for level, x := range v {
		if !math.IsNaN(x) {
			levels = append(levels, capture.Level(level))
		}
	}
	slices.SortFunc(levels, func(a, b capture.Level) int { return cmp.Compare(math.Abs(v[a]), math.Abs(v[b])) })
	return levels
}

func (s *sliced) volts() byName { return byName{math.NaN(), s.found.Low, s.found.Mid, s.found.High} }

// checkLevels wants each level within 2 % of ngspice's; the one near 0 V within 2 % of the span of the outer ones. Three
// levels have their names from their order: Mid is mark. Of two, volts alone do not tell the names; of one, the slicer
// need not say any.
func checkLevels(t *testing.T, w *waveform, s *sliced) {
	t.Helper()
	want, got := w.levels(), s.volts()
	names, gotNames := seen(want), seen(got)
	if len(names) == 1 && len(gotNames) == 0 && s.found.Levels == 1 {
		return
	}
	if len(gotNames) != len(names) || s.found.Levels != len(names) {
		t.Fatalf("got %d levels, %.3f V, want %d, %.3f V", s.found.Levels, got[1:], len(names), want[1:])
	}
	if len(names) == 3 && !slices.Equal(names, gotNames) {
		t.Errorf("levels from 0 V outwards are %v at %.3f V, want %v", gotNames, got[1:], names)
	}
	if len(names) == 3 && s.found.Negative != (w.supply < 0) {
		t.Errorf("negative supply: got %v", s.found.Negative)
	}
	if w.moving() {
		return // what the levels are on the whole is the facts' to say
	}
	span := math.Abs(want[names[len(names)-1]] - want[names[0]])
	for i, name := range names {
		limit := 0.02 * math.Abs(want[name])
		if name == capture.Low {
			limit = 0.02 * max(span, math.Abs(want[name]))
		}
		if v := got[gotNames[i]]; !near(v, want[name], limit) {
			t.Errorf("%v: got %.4f V, want %.4f within %.4f", name, v, want[name], limit)
		}
	}
}

// checkInstants compares transition by transition and returns a row of the table.
func checkInstants(t *testing.T, c loopCase, w *waveform, s *sliced, want []crossing) string {
	t.Helper()
	names, gotNames := seen(w.levels()), seen(s.volts())
	called := func(l capture.Level) capture.Level {
		if len(gotNames) == 0 {
			return capture.Unknown // a constant
		}
		return gotNames[slices.Index(names, l)]
	}
	if s.first != called(capture.Mid) || len(want) > 0 && w.seconds(s.rate, s.known) > want[0].at {
		t.Errorf("starts at %v at %.6f s, want %v before the first transition", s.first, w.seconds(s.rate, s.known), called(capture.Mid))
	}
	for i := range max(len(want), len(s.At)) {
		if i >= len(want) || i >= len(s.At) || s.To[i] != called(want[i].to) || math.Abs(w.seconds(s.rate, s.At[i])-want[i].at) > 0.5/w.speed {
			t.Fatalf("%d transitions, want %d; they part at %d:\ngot  %s\nwant %s", len(s.At), len(want), i, s.around(w, i), around(want, i))
		}
	}
	limit, sample := max(5e-6, 0.01/w.speed), capture.Tick(1024)
	exact, held, worst, worstDoubt := 0, 0, 0.0, capture.Tick(0)
	for i, at := range s.At {
		off, doubt := w.seconds(s.rate, at)-want[i].at, w.info(s.rate).Clock.Seconds(s.doubt[i]+1)
		if math.Abs(off) <= doubt {
			held++
		}
		if math.Abs(off) <= limit {
			exact++
		} else if math.Abs(off) > doubt {
			t.Errorf("transition %d to %v at %.7f s: got %+.2f us off, within %.2f us, doubt %.2f us",
				i, s.To[i], want[i].at, off*1e6, limit*1e6, doubt*1e6)
		}
		if s.doubt[i] > sample || s.doubt[i] < 0 {
			t.Errorf("transition %d at %.7f s: doubt of %.2f samples", i, want[i].at, float64(s.doubt[i])/1024)
		}
		worst, worstDoubt = max(worst, math.Abs(off)), max(worstDoubt, s.doubt[i])
	}
	if s.rate == 50e3 && float64(exact) < c.share*float64(len(want)) {
		t.Errorf("%d of %d transitions within %.1f us, want %.0f %%", exact, len(want), limit*1e6, 100*c.share)
	}
	return fmt.Sprintf("%3d kSa/s %4d: %4d %4d %4d; %6.2f us; %5.2f us", s.rate/1000, len(want), exact, len(want)-exact, held, worst*1e6,
		w.info(s.rate).Clock.Seconds(worstDoubt)*1e6)
}

// around shows the transitions about the i-th.
func (s *sliced) around(w *waveform, i int) string {
	var c []crossing
	for k, at := range s.At {
		c = append(c, crossing{w.seconds(s.rate, at), s.To[k]})
	}
	return around(c, i)
}

func around(all []crossing, i int) (text string) {
	for _, c := range all[min(max(0, i-2), len(all)):min(len(all), i+3)] {
		text += fmt.Sprintf(" %.6f s %v;", c.at, c.to)
	}
	return text
}
