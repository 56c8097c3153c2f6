package validate

import (
	"math"
	"slices"

	"linewitness/capture"
)

// Spikes counts short departures from the level that stands on a line, and excursions beyond its supply, in sliced
// blocks of volts. It follows each level by itself; the first 16 settled samples of a level teach it and are not judged.
//
// A spike departs from the level by more than 8 standard deviations of its noise and more than a tenth of the smaller
// separation of levels, and lasts at most 3 samples or 0.3 ms, whichever is longer, but less than half a unit interval
// where that was set: without it, bits at more than some 3,000 baud look like spikes. It may cross into another level
// and back. Samples of edges are no spikes: a departure must begin and end within the level it departs from.
type Spikes struct {
	clock      capture.Clock
	line       walk
	unit       capture.Tick // unit interval; 0: not set
	most, rest capture.Tick // longest spike; rest that ends an episode
	entryRest  capture.Tick

	levelTrack
	base capture.Level // of the last run too long for a spike
	from capture.Tick  // where the run begins
	peak float64       // of its first samples, the farthest from base

	facts         SpikeFacts
	last, lastOut capture.Tick // last spike; last sample beyond the supply
	inside        int64        // spikes in the present episode
	entry         capture.Tick // last entry beyond the supply
	beyond        bool         // there was one
	every         Sketch       // seconds
}

const (
	spikeSamples = 3
	spikeSeconds = 3e-4
	spikeSigmas  = 8.0
	spikePart    = 0.1 // of the smaller separation
	beyondPart   = 0.3 // of the smaller separation
	episodeRest  = 1e-2
	beyondRest   = 2e-3 // s without a sample beyond the supply before the next entry
)

// Spike is one of the first spikes.
type Spike struct {
	At    capture.Tick
	Level capture.Level // that it departs from
	Volts float64       // largest departure, positive: up
}

// SpikeCount counts the spikes of one state by sign.
type SpikeCount struct{ Up, Down int64 }

// SpikeFacts are the spikes and excursions of a recording so far.
type SpikeFacts struct {
	N              int64
	Low, Mid, High SpikeCount
	First          []Spike // at most 20
	Episodes       Times   // 10 ms without a spike end one
	Most           int64   // spikes in the fullest episode

	// Beyond are the episodes with samples beyond an outer level by more than 0.3 of the smaller separation, of levels
	// seen by then; 10 ms without one end an episode. While Low was not seen, 0 V stands for it.
	Beyond  Times
	Largest float64 // V beyond the outer level; NaN: none
	// Every is the median distance in seconds from one entry beyond the supply to the next, after 2 ms within it, over
	// Entries of them: steady at a half or a whole mains period where mains come in. NaN: fewer than two entries.
	Every   float64
	Entries int64
}

// NewSpikes begins a recording.
func NewSpikes(c capture.Clock) *Spikes {
	s := &Spikes{clock: c, most: c.Ticks(spikeSeconds), rest: c.Ticks(episodeRest), entryRest: c.Ticks(beyondRest)}
	s.levelTrack = newLevelTrack(c)
	s.facts.Largest = math.NaN()
	return s
}

// Unit sets the unit interval of the link. Set it before the first block, so that it holds for all of them.
func (s *Spikes) Unit(t capture.Tick) { s.unit = max(t, 0) }

// Facts are those so far.
func (s *Spikes) Facts() SpikeFacts {
	f := s.facts
	f.First = slices.Clone(f.First)
	f.Episodes.At, f.Beyond.At = slices.Clone(f.Episodes.At), slices.Clone(f.Beyond.At)
	f.Most = max(f.Most, s.inside)
	f.Every, f.Entries = s.every.Percentile(50), s.every.N()
	if s.beyond {
		f.Entries++
	}
	return f
}

// Add takes the next sliced block.
func (s *Spikes) Add(b *capture.Block) {
	for st := s.line.begin(b); st.next(); {
		if st.fresh {
			s.base = capture.Unknown
			s.begin(&st)
		} else if st.turn {
			s.turn(&st)
			s.begin(&st)
		}
		if st.level == capture.Unknown {
			continue
		}
		at, volts := st.samples()
		s.first(at, volts)
		for len(at) > 0 && s.teach(at[0]) {
			s.take(at[:1], volts[:1])
			at, volts = at[1:], volts[1:]
		}
		s.take(at, volts)
	}
	s.line.end(b)
}

// begin begins a run.
func (s *Spikes) begin(st *stretch) {
	s.from, s.peak = st.from, 0
	s.levelTrack.begin(st.level)
}

// turn ends the run before: it was a spike if it was short and the line is back where it was.
func (s *Spikes) turn(st *stretch) {
	switch {
	case !s.short(s.n, st.from-s.from):
		s.base = st.before
	case s.base == st.level && s.peak != 0:
		s.spike(Spike{At: s.from, Level: s.base, Volts: s.peak})
	}
}

// short tells whether so many samples over such a time can be a spike.
func (s *Spikes) short(n int, span capture.Tick) bool {
	return (n <= spikeSamples || span <= s.most) && (s.unit == 0 || 2*span < s.unit)
}

// first looks for the peak of a run that may turn out to be a spike.
func (s *Spikes) first(at []capture.Tick, volts []float64) {
	l := &s.of[s.base]
	if s.base == s.level || !l.known {
		return
	}
	for i, t := range at {
		if s.n+i >= spikeSamples && t-s.from > s.most {
			return
		}
		if d := volts[i] - l.ref; math.Abs(d) > math.Abs(s.peak) {
			s.peak = d
		}
	}
}

// take goes quickly over samples that stand on their level, and looks at the others one by one.
func (s *Spikes) take(at []capture.Tick, volts []float64) {
	volts = volts[:len(at)]
	for i := 0; i < len(at); {
		if s.settled && s.out.n == 0 {
			n := s.quiet(volts[i:])
			if i += n; n > 0 {
				continue
			}
		}
		t, v := at[i], volts[i]
		i++
		if v != v {
			continue
		}
		if far := s.outside(v); far > 0 {
			s.excursion(t, far)
		}
		if o := s.step(t, v, s.most); o.n > 0 && math.Abs(o.peak) > 2*s.of[s.level].half && s.short(o.n, o.last-o.from) {
			s.spike(Spike{At: o.from, Level: s.level, Volts: o.peak})
		}
	}
}

// spike counts one.
func (s *Spikes) spike(k Spike) {
	f := &s.facts
	if f.N == 0 || k.At-s.last > s.rest {
		f.Episodes.add(k.At)
		f.Most, s.inside = max(f.Most, s.inside), 0
	}
	s.last = k.At
	s.inside++
	f.N++
	if len(f.First) < MostTimes {
		f.First = append(f.First, k)
	}
	c := &f.Low
	switch k.Level {
	case capture.Mid:
		c = &f.Mid
	case capture.High:
		c = &f.High
	}
	if k.Volts > 0 {
		c.Up++
	} else {
		c.Down++
	}
}

// excursion counts a sample so far beyond the supply.
func (s *Spikes) excursion(t capture.Tick, far float64) {
	f := &s.facts
	if !(far <= f.Largest) {
		f.Largest = far
	}
	since := t - s.lastOut
	if !s.beyond || since > s.rest {
		f.Beyond.add(t)
	}
	if s.beyond && since > s.entryRest {
		s.every.Add(s.clock.Seconds(t - s.entry))
	}
	if !s.beyond || since > s.entryRest {
		s.entry = t
	}
	s.beyond, s.lastOut = true, t
}
