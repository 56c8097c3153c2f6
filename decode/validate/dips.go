package validate

import (
	"math"

	"linewitness/capture"
)

// DipLimits are thresholds relative to the reference. The zero value takes the usual settings: dip below 0.9, swell above
// 1.1, interruption below 0.05, hysteresis 0.02 (EN 50160 and IEC 61000-4-30; 0.05 and 0.02 from memory).
type DipLimits struct {
	Dip, Swell, Interruption, Hysteresis float64
	// Reference is what a value of 1 stands for; 0: values are relative already, or take the first as reference where it slides.
	Reference float64
	// Slide is the time constant in seconds of a reference that follows the value (first-order filter, frozen during an
	// event; IEC 61000-4-30 uses 60). 0: the reference is fixed.
	Slide float64
}

func (l DipLimits) orUsual() DipLimits {
	usual := func(v *float64, u float64) {
		if *v == 0 {
			*v = u
		}
	}
	usual(&l.Dip, 0.9)
	usual(&l.Swell, 1.1)
	usual(&l.Interruption, 0.05)
	usual(&l.Hysteresis, 0.02)
	return l
}

// DipEvent is a dip, swell or interruption. Start is the start of the first window beyond the threshold, End the end of the
// window that ended it: the true event is shorter by up to two windows (IEC 61000-4-30 leaves that to the window's length).
type DipEvent struct {
	Start, End capture.Tick
	Residual   float64 // the lowest value, relative to the reference; of a swell the highest
	Worst      capture.Tick
	// Recovered is the end of the first window at or above the threshold after the worst one: Recovered - Worst is the
	// time of recovery. It is 0 where the event was still beyond the threshold.
	Recovered capture.Tick
	Open      bool // it had not ended when the recording, or what was seen of the line, did
}

// Depth is how far the value fell (rose, of a swell) from the reference.
func (e *DipEvent) Depth() float64 { return math.Abs(1 - e.Residual) }

// Length is the length from Start to End.
func (e *DipEvent) Length() capture.Tick { return e.End - e.Start }

// DipEvents are events of one kind. Deepest and Longest are the zero event while N is 0.
type DipEvents struct {
	N                int64
	First            []DipEvent // the first 20, by their end
	Deepest, Longest DipEvent
}

func (d *DipEvents) add(e DipEvent) {
	if d.N == 0 || e.Depth() > d.Deepest.Depth() {
		d.Deepest = e
	}
	if d.N == 0 || e.Length() > d.Longest.Length() {
		d.Longest = e
	}
	if d.N++; len(d.First) < MostTimes {
		d.First = append(d.First, e)
	}
}

// with is a copy of the events and one that is still open.
func (d DipEvents) with(w *dipWatch) DipEvents {
	d.First = append([]DipEvent(nil), d.First...)
	if w.in {
		e := w.event
		e.Open = true
		d.add(e)
	}
	return d
}

// dipWatch watches for values beyond a threshold: an event starts with a value beyond start and ends with one not beyond
// end. up: beyond is above.
type dipWatch struct {
	start, end float64
	up         bool
	in         bool
	event      DipEvent
}

// step takes the value of a window. done: an event ended with it.
func (w *dipWatch) step(from, to capture.Tick, v float64) (done bool) {
	sign := 1.
	if w.up {
		sign = -1
	}
	beyond := sign*v < sign*w.start
	if !w.in {
		if !beyond {
			return false
		}
		w.in, w.event = true, DipEvent{Start: from, Residual: v, Worst: to}
	}
	if sign*v < sign*w.event.Residual {
		w.event.Residual, w.event.Worst = v, to
	}
	if beyond {
		w.event.Recovered = 0
	} else if w.event.Recovered == 0 {
		w.event.Recovered = to
	}
	w.event.End = to
	if sign*v >= sign*w.end {
		w.in = false
		return true
	}
	return false
}

// DipFacts are the events so far; an event that has not ended is the last one of its kind.
type DipFacts struct {
	Windows                     int64
	Dips, Swells, Interruptions DipEvents
	Reference                   float64 // as it stands
}

// Dips finds dips, swells and interruptions in a stream of window values such as Urms(1/2), after IEC 61000-4-30: an event
// starts when the value passes the threshold and ends when it is back by the hysteresis. An interruption is a dip too.
type Dips struct {
	clock     capture.Clock
	limits    DipLimits
	reference float64
	last      capture.Tick
	facts     DipFacts
	watch     [3]dipWatch // dip, swell, interruption
}

// NewDips begins to watch.
func NewDips(c capture.Clock, limits DipLimits) *Dips {
	l := limits.orUsual()
	d := &Dips{clock: c, limits: l, reference: l.Reference}
	if l.Reference == 0 && l.Slide == 0 {
		d.reference = 1
	}
	d.watch = [3]dipWatch{
		{start: l.Dip, end: l.Dip + l.Hysteresis},
		{start: l.Swell, end: l.Swell - l.Hysteresis, up: true},
		{start: l.Interruption, end: l.Interruption + l.Hysteresis},
	}
	return d
}

// Add takes the value of the window from start to end; windows come in order of time and may overlap. NaN is passed over.
func (d *Dips) Add(start, end capture.Tick, value float64) {
	if value != value {
		return
	}
	if d.reference == 0 {
		d.reference = value
	}
	if d.facts.Windows == 0 {
		d.last = start
	}
	d.facts.Windows++
	relative := value / d.reference
	for i, all := range [3]*DipEvents{&d.facts.Dips, &d.facts.Swells, &d.facts.Interruptions} {
		if w := &d.watch[i]; w.step(start, end, relative) {
			all.add(w.event)
		}
	}
	d.slide(start, value)
}

// slide lets the reference follow, unless an event is under way.
func (d *Dips) slide(start capture.Tick, value float64) {
	if d.limits.Slide > 0 && !d.watch[0].in && !d.watch[1].in {
		dt := d.clock.Seconds(start - d.last)
		d.reference -= (value - d.reference) * math.Expm1(-dt/d.limits.Slide)
	}
	d.last = start
}

// Facts are the facts so far.
func (d *Dips) Facts() DipFacts {
	f := d.facts
	f.Reference = d.reference
	f.Dips, f.Swells, f.Interruptions = f.Dips.with(&d.watch[0]), f.Swells.with(&d.watch[1]), f.Interruptions.with(&d.watch[2])
	return f
}
