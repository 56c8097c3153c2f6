package validate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/decode/validate"
)

func spikeFacts(l *capturetest.Loop, b *capture.Block, baud float64) validate.SpikeFacts {
	s := validate.NewSpikes(l.Clock())
	s.Unit(l.Clock().Ticks(1 / baud))
	levelBlocks(b, func() int { return 4096 }, s.Add)
	return s.Facts()
}

// pulses adds volts to some samples of a block, as pickup would.
func pulses(b *capture.Block, volts float64, samples ...int) {
	for _, i := range samples {
		b.Volts[i] += volts
	}
}

// spikeLine is 4 s of a line that has said all its levels by 2 s; High stands from 2.5 to 3 s, Low from 3 to 3.5 s.
func spikeLine(place, tau float64) *capturetest.Loop {
	l := &capturetest.Loop{Rate: 20000, Seconds: 2, Place: place, Tau: tau, Noise: 0.03, Seed: 15}
	levelTalk(l, 1200)
	l.Seconds = 4
	c := l.Clock()
	l.Other.At, l.Other.To = append(l.Other.At, c.Ticks(2.5), c.Ticks(3)), append(l.Other.To, capture.Low, capture.High)
	l.Feed.At, l.Feed.To = append(l.Feed.At, c.Ticks(3), c.Ticks(3.5)), append(l.Feed.To, capture.Low, capture.High)
	return l
}

// Spikes of either sign in every state are counted where they were put, and nothing else is.
func TestSpikesWhereTheyWerePut(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name       string
		place, tau float64
	}{{"sharp", 0.5, 0}, {"curved", 0.6, 150e-6}} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			l := spikeLine(c.place, c.tau)
			b := levelSliced(l)
			pulses(b, 3, 42000, 42001)  // mid, 2.1 s
			pulses(b, -2.5, 42100)      // mid, 5 ms later: the same episode
			pulses(b, -4, 55000, 55001) // high
			pulses(b, 2, 63000)         // low
			f := spikeFacts(l, b, 1200)
			at := func(i int) capture.Tick { return b.SampleAt[i] }
			want := validate.SpikeFacts{N: 4, Mid: validate.SpikeCount{Up: 1, Down: 1}, High: validate.SpikeCount{Down: 1},
				Low: validate.SpikeCount{Up: 1}, Most: 2, Largest: math.NaN(), Every: math.NaN(),
				Episodes: validate.Times{N: 3, At: []capture.Tick{at(42000), at(55000), at(63000)}},
				First: []validate.Spike{{At: at(42000), Level: capture.Mid, Volts: 3}, {At: at(42100), Level: capture.Mid, Volts: -2.5},
					{At: at(55000), Level: capture.High, Volts: -4}, {At: at(63000), Level: capture.Low, Volts: 2}}}
			if d := cmp.Diff(want, f, cmpopts.EquateNaNs(), cmpopts.EquateApprox(0, 0.15)); d != "" {
				t.Errorf("(-want +got)\n%s", d)
			}
		})
	}
}

// A spike that crosses into another level and back makes two transitions, and is one spike; a bit is none.
func TestSpikesAcrossLevels(t *testing.T) {
	t.Parallel()
	l := spikeLine(0.5, 0)
	b := levelSliced(l)
	pulses(b, 11, 42000, 42001, 42004)
	pulses(b, -11, 55000)
	cross := func(i, n int, to, back capture.Level) {
		k := 0
		for k < len(b.At) && b.At[k] < b.SampleAt[i] {
			k++
		}
		for _, x := range []struct {
			at capture.Tick
			to capture.Level
		}{{b.SampleAt[i] - 500, to}, {b.SampleAt[i+n] - 500, back}} {
			b.At = append(b.At[:k], append([]capture.Tick{x.at}, b.At[k:]...)...)
			b.To = append(b.To[:k], append([]capture.Level{x.to}, b.To[k:]...)...)
			k++
		}
	}
	cross(42000, 2, capture.High, capture.Mid)
	cross(42004, 1, capture.High, capture.Mid)
	cross(55000, 1, capture.Mid, capture.High)
	cross(59998, 2, capture.Mid, capture.Low) // on the way from high to low: no spike
	f := spikeFacts(l, b, 1200)
	if f.N != 3 || f.Mid.Up != 2 || f.High.Down != 1 || f.Episodes.N != 2 || f.Most != 2 {
		t.Errorf("%+v", f)
	}
	near(t, "size", f.First[0].Volts, 11, 0.15)
	near(t, "time", float64(f.First[0].At), float64(b.SampleAt[42000]), 512)
}

// Half waves of mains above the supply: an excursion each, a mains period apart, the largest by how far it goes.
func TestHalfWavesBeyondTheSupply(t *testing.T) {
	t.Parallel()
	l := spikeLine(0.5, 0)
	l.Extra = func(s float64) float64 {
		if s < 2.6 || s >= 2.9 {
			return 0
		}
		return max(0, 10*math.Sin(2*math.Pi*50*(s-2.6))) // within high
	}
	f := spikeFacts(l, levelSliced(l), 1200)
	if f.Beyond.N != 15 || f.Entries != 15 || f.N != 0 {
		t.Errorf("15 half waves: %+v", f)
	}
	near(t, "distance", f.Every, 0.02, 0.0003)
	near(t, "largest", f.Largest, 10, 0.3)
	near(t, "first", l.Clock().Seconds(f.Beyond.At[0]), 2.6+math.Asin(0.36)/(2*math.Pi*50), 2e-4) // 0.3 of 12 V
}

// A minute of sound talk has no spikes and no excursions, with the noise, capacitance, ripple and dips that lines have.
func TestNoSpikesInSoundTalk(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name              string
		place, tau, noise float64
		factor            func(s float64) float64
		bits              int
	}{
		{"noisy", 0.5, 0, 0.15, nil, 0},
		{"curved", 0.3, 200e-6, 0.1, nil, 0},
		{"ripple", 0.5, 50e-6, 0.05, func(s float64) float64 { return 1 + 0.05*math.Sin(2*math.Pi*100*s) }, 0},
		{"dips", 0.6, 50e-6, 0.05, func(s float64) float64 {
			if u := math.Mod(s, 7); u > 5 && u < 5.3 {
				return 1 - 0.3*math.Sin((u-5)/0.3*math.Pi)
			}
			return 1
		}, 0},
		{"supply that rises by a third of the separation", 0.5, 0, 0.05, func(s float64) float64 { return 1 + 0.2*s/60 }, 0},
		{"8 bits without noise", 0.5, 0, 0, nil, 8},
		{"mark near the supply", 0.9, 0, 0.05, nil, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			l := &capturetest.Loop{Rate: 20000, Seconds: talkSeconds, Place: c.place, Tau: c.tau, Noise: c.noise, Factor: c.factor, Seed: 16}
			if c.bits > 0 {
				l.Bits, l.Full = c.bits, 30
			}
			levelTalk(l, 1200)
			if f := spikeFacts(l, levelSliced(l), 1200); f.N != 0 || f.Beyond.N != 0 {
				t.Errorf("%+v", f)
			}
		})
	}
}

// Bits shorter than 0.3 ms are no spikes once the unit interval is known; spikes shorter than half of it still are.
func TestBitsAreNoSpikes(t *testing.T) {
	t.Parallel()
	l := &capturetest.Loop{Rate: 100000, Seconds: 2, Noise: 0.05, Seed: 18}
	levelTalk(l, 4800)
	l.Seconds = 2.2
	b := levelSliced(l)
	pulses(b, 4, 212000, 212001, 212002, 212003, 212004)
	if f := spikeFacts(l, b, 4800); f.N != 1 || f.Mid.Up != 1 || f.First[0].At != b.SampleAt[212000] {
		t.Errorf("%+v", f)
	}
	pulses(b, 4, 213000, 213001, 213002, 213003, 213004, 213005, 213006, 213007, 213008, 213009, 213010, 213011)
	if f := spikeFacts(l, b, 4800); f.N != 1 {
		t.Errorf("over half a unit interval long, and counted: %+v", f)
	}
}

// A burst of noise is one episode; single spikes 50 ms apart are one each, and only 20 times are kept.
func TestBurstsAreEpisodes(t *testing.T) {
	t.Parallel()
	l := spikeLine(0.5, 0)
	b := levelSliced(l)
	for i := range 30 {
		pulses(b, []float64{4, -4}[i%2], 42000+10*i)
	}
	if f := spikeFacts(l, b, 1200); f.N != 30 || f.Mid.Up != 15 || f.Mid.Down != 15 ||
		f.Episodes.N != 1 || f.Most != 30 || len(f.First) != 20 {
		t.Errorf("burst: %+v", f)
	}
	b = levelSliced(l)
	for i := range 25 {
		pulses(b, 4, 50200+300*i)
	}
	if f := spikeFacts(l, b, 1200); f.N != 25 || f.High.Up != 25 || f.Episodes.N != 25 || len(f.Episodes.At) != 20 || f.Most != 1 {
		t.Errorf("single: %+v", f)
	}
}

// The level that spikes depart from is the one that stands: after a slow fall, after a step, and after a step into noise.
func TestSpikesOnALevelThatMoves(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		factor func(s float64) float64
		noise  float64 // V, from 1 s on
		size   float64
		within float64
	}{
		{"slow fall", func(s float64) float64 { return 1 - 0.09*s }, 0, 6, 0.15},
		{"step", func(s float64) float64 { return 1 - 0.4*math.Floor(min(s, 1)) }, 0, 6, 0.15},
		{"step into noise", func(s float64) float64 { return 1 - 0.4*math.Floor(min(s, 1)) }, 0.5, 6, 2.5},
		{"step into much noise", func(s float64) float64 { return 1 - 0.4*math.Floor(min(s, 1)) }, 1, 12, 4.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			l := &capturetest.Loop{Rate: 20000, Seconds: 2, Noise: 0.03, Factor: c.factor, Seed: 20}
			b := levelSliced(l)
			r := rand.New(rand.NewPCG(20, 20))
			for i := 20000; i < len(b.Volts); i++ {
				b.Volts[i] += c.noise * r.NormFloat64()
			}
			var want []capture.Tick
			learns := b.SampleAt[21000] // noise that sets in may look like spikes for 50 ms
			for i := 30000; i < 40000; i += 2345 {
				pulses(b, c.size, i)
				want = append(want, b.SampleAt[i])
			}
			f := spikeFacts(l, b, 1200)
			var got []capture.Tick
			for _, s := range f.First {
				if c.noise > 0 && s.At < learns {
					continue
				}
				got = append(got, s.At)
				near(t, "size", s.Volts, c.size, c.within)
			}
			if d := cmp.Diff(want, got); d != "" || f.Mid.Up != 5 || f.N > 7 {
				t.Errorf("%+v (-want +got)\n%s", f, d)
			}
		})
	}
}

// Spikes in the first second of an idle line, of which only mark is known.
func TestSpikesAtTheStart(t *testing.T) {
	t.Parallel()
	l := &capturetest.Loop{Rate: 20000, Seconds: 1, Noise: 0.03, Seed: 17}
	b := levelSliced(l)
	pulses(b, 3, 30)
	pulses(b, -17, 5000) // below the return conductor, whose 0 V stands for low
	f := spikeFacts(l, b, 1200)
	if f.N != 2 || f.Mid.Up != 1 || f.Mid.Down != 1 || f.Beyond.N != 1 || f.First[0].At != b.SampleAt[30] {
		t.Errorf("%+v", f)
	}
	near(t, "beyond", f.Largest, 5, 0.15)
}

func TestSpikesInBlocksOfAnySize(t *testing.T) {
	t.Parallel()
	l := &capturetest.Loop{Rate: 20000, Seconds: cutSeconds, Tau: 100e-6, Noise: 0.05, Seed: 22}
	levelTalk(l, 1200)
	l.Extra = func(s float64) float64 {
		return 5 * math.Pow(math.Max(0, math.Sin(2*math.Pi*13.1*s)), 1e5)
	}
	b := levelSliced(l)
	anySize(t, b, func(cut func(func(*capture.Block))) validate.SpikeFacts {
		s := validate.NewSpikes(l.Clock())
		cut(s.Add)
		f := s.Facts()
		if f.N < 2 || f.Beyond.N == 0 {
			t.Errorf("few spikes: %+v", f)
		}
		return f
	})
}

func TestNoSpikes(t *testing.T) {
	t.Parallel()
	nan := math.NaN()
	want := validate.SpikeFacts{Largest: nan, Every: nan}
	s := validate.NewSpikes(capture.Nanoseconds)
	s.Add(&capture.Block{})
	s.Add(&capture.Block{End: 9, First: capture.Mid, Transitions: capture.Transitions{At: []capture.Tick{1, 2, 3},
		To: []capture.Level{capture.High, capture.Mid, capture.Unknown}}})
	s.Add(&capture.Block{Start: 9, End: 12, First: capture.Low, Samples: capture.Samples{SampleAt: []capture.Tick{9, 10, 11},
		Volts: []float64{nan, math.Inf(1), 0}}})
	if d := cmp.Diff(want, s.Facts(), cmpopts.EquateNaNs()); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
}
