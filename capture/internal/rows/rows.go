// Package rows takes blocks apart into instants, one after the other, as text formats write them: what package series
// weaves, the other way round.
//
//	New(info, units) { Block } End -> a Row for every instant at which something is said
//
// All that is said of one instant comes in one row, counted in the format's own unit of time. Instants that are no
// whole units are an error or, if that is allowed, rounded; two transitions, or two samples, that would fall into one
// are an error either way.
package rows

import (
	"errors"
	"fmt"

	"linewitness/capture"
)

// Row is an instant and what stands from it on.
type Row struct {
	At      int64          // in units
	First   bool           // the recording starts
	End     bool           // the recording ends
	Begins  bool           // what is known starts: at the beginning and after a lost interval
	Lost    bool           // a lost interval starts
	Why     capture.GapWhy // of the lost interval; GapNone: nothing is lost here
	Level   capture.Level  // Unknown: not known
	Changed bool           // there is a transition
	Volts   float64        // of the last sample
	Known   bool           // there was one since what is known starts
	Sampled bool           // it is from this very instant
}

func (r *Row) says() bool { return r.First || r.End || r.Begins || r.Lost || r.Changed || r.Sampled }

// Units are those in which a format counts time.
type Units struct {
	Per   capture.Clock // units a second
	Name  string        // in the plural
	Round bool          // to whole units
}

// Walker goes through a recording. It keeps its first error.
type Walker struct {
	info  capture.Info
	scale scale
	each  func(*Row) error
	row   Row
	end   capture.Tick // of the last block
	open  bool         // there was one
	left  Left
	err   error
}

// Left is what was not given out, or is not read back, counted.
type Left struct {
	Doubts     int64                         // transitions with a doubt
	Dropped    int64                         // transitions and samples at the very instant at which a lost interval starts
	Unmeasured int64                         // transitions while no sample is known yet, in a recording of both
	Counts     int64                         // lost intervals whose number of transitions is known
	Gaps       [capture.GapDamaged + 1]int64 // lost intervals
}

// New makes a walker that calls each for every row; a row is valid until each returns.
func New(info capture.Info, u Units, each func(*Row) error) (*Walker, error) {
	if !info.Levels && !info.Volts {
		return nil, errors.New("expected a recording of levels or volts, found neither")
	}
	s, err := newScale(info.Clock, u.Per, u.Name, u.Round)
	if err != nil {
		return nil, err
	}
	return &Walker{info: info, scale: s, each: each}, nil
}

// Left is what was not given out so far.
func (w *Walker) Left() *Left { return &w.left }

// Moved is what rounding moved an instant at most, in units.
func (w *Walker) Moved() float64 { return w.scale.moved() }

// Block takes the next block, which must follow the last one.
func (w *Walker) Block(b *capture.Block) error {
	if w.err == nil {
		w.err = w.block(b)
	}
	return w.err
}

// End gives the last row.
func (w *Walker) End() error {
	if w.err != nil {
		return w.err
	}
	if !w.open {
		w.err = errors.New("expected a recording of at least one block, found none")
	} else if w.err = w.to(w.end); w.err == nil {
		w.row.End = true
		w.err = w.each(&w.row)
	}
	if w.err == nil {
		w.err = errEnded
		return nil
	}
	return w.err
}

var errEnded = errors.New("expected no block behind the end")

func (w *Walker) block(b *capture.Block) error {
	switch {
	case len(b.Octets) > 0:
		return fmt.Errorf("at %s: expected levels or volts, found octets of a port", seconds(w.info.Clock, b.Octets[0].At))
	case len(b.At) > 0 && !w.info.Levels || len(b.SampleAt) > 0 && !w.info.Volts:
		return fmt.Errorf("at %s: expected what the recording has by its head, found other content", seconds(w.info.Clock, b.Start))
	}
	if err := w.start(b); err != nil {
		return err
	}
	for _, d := range b.Doubt {
		if d > 0 {
			w.left.Doubts++
		}
	}
	i, j := 0, 0
	for i < len(b.At) || j < len(b.SampleAt) {
		var err error
		if j == len(b.SampleAt) || i < len(b.At) && b.At[i] <= b.SampleAt[j] {
			err = w.change(b.At[i], b.To[i], b.Start)
			i++
		} else {
			err = w.sample(b.SampleAt[j], b.Volts[j])
			j++
		}
		if err != nil {
			return err
		}
	}
	w.end = b.End
	return nil
}

// start goes to the start of b and through the gap before it.
func (w *Walker) start(b *capture.Block) error {
	from := b.Start
	if b.Gap.Present() {
		from = b.Gap.From
	}
	first := !w.open
	if !first && from != w.end {
		return fmt.Errorf("expected a block that follows at %s, found one from %s", seconds(w.info.Clock, w.end), seconds(w.info.Clock, from))
	}
	if first {
		at, err := w.scale.of(from)
		if err != nil {
			return err
		}
		w.row, w.open = Row{At: at, First: true}, true
	}
	if b.Gap.Present() {
		if err := w.lose(b.Gap); err != nil {
			return err
		}
	} else if !first {
		return nil // a mere cut
	}
	if err := w.to(b.Start); err != nil {
		return err
	}
	r := &w.row
	r.Begins, r.Why, r.Level, r.Known = true, capture.GapNone, b.First, false
	return nil
}

func (w *Walker) lose(g capture.Gap) error {
	if err := w.to(g.From); err != nil {
		return err
	}
	r := &w.row
	if r.Changed {
		w.left.Dropped++
	}
	if r.Sampled {
		w.left.Dropped++
	}
	w.left.Gaps[min(g.Why, capture.GapDamaged)]++
	if g.Count >= 0 {
		w.left.Counts++
	}
	*r = Row{At: r.At, First: r.First, Lost: true, Why: g.Why}
	if at, err := w.scale.of(g.To); err != nil || at > r.At {
		return err
	}
	return w.tooClose(g.From, "a lost interval")
}

func (w *Walker) change(t capture.Tick, to capture.Level, start capture.Tick) error {
	if err := w.to(t); err != nil {
		return err
	}
	r := &w.row
	if r.Changed || r.Begins && t != start {
		return w.tooClose(t, "a level")
	}
	r.Changed, r.Level = true, to
	if w.info.Volts && !r.Known {
		w.left.Unmeasured++
	}
	return nil
}

func (w *Walker) sample(t capture.Tick, volts float64) error {
	if err := w.to(t); err != nil {
		return err
	}
	r := &w.row
	if r.Sampled {
		return w.tooClose(t, "a sample")
	}
	if r.Changed && !r.Known {
		w.left.Unmeasured-- // of this very instant
	}
	r.Sampled, r.Known, r.Volts = true, true, volts
	return nil
}

func (w *Walker) tooClose(t capture.Tick, what string) error {
	return fmt.Errorf("at %s: expected instants that differ in whole %s, found %s that lasts less",
		seconds(w.info.Clock, t), w.scale.unit, what)
}

// to gives the row out if t is a later instant.
func (w *Walker) to(t capture.Tick) error {
	at, err := w.scale.of(t)
	r := &w.row
	switch {
	case err != nil:
		return err
	case at == r.At:
		return nil
	case at < r.At:
		return fmt.Errorf("expected an instant not before %d %s, found %s", r.At, w.scale.unit, seconds(w.info.Clock, t))
	}
	if r.says() {
		if err := w.each(r); err != nil {
			return err
		}
	}
	r.At, r.First, r.Begins, r.Lost, r.Changed, r.Sampled = at, false, false, false, false, false
	return nil
}
