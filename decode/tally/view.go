package tally

import (
	"sort"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// view is the batch at hand and, of what came before it, the last frame with all that followed: the poll of a reply may stand in
// another batch.
type view struct {
	b        *burst.Batch
	frames   []link.Frame
	glitches []uart.Glitch
	margin   capture.Tick
	tail     Excerpt       // the last frame before the batch; no frame: none
	level    capture.Level // before the batch; Unknown: not known
}

func (v *view) begin(b *burst.Batch, frames []link.Frame, glitches []uart.Glitch, margin capture.Tick) {
	v.b, v.frames, v.glitches, v.margin = b, frames, glitches, margin
}

// until is the first instant after the batch.
func (v *view) until() capture.Tick {
	if n := len(v.b.Bursts); n > 0 {
		return v.b.Bursts[n-1].Until
	}
	return 0
}

// end remembers what the next batch may want.
func (v *view) end() {
	b := v.b
	if n := len(b.At); n > 0 {
		switch {
		case len(v.frames) > 0:
			v.alone(&v.tail, len(v.frames)-1)
			v.add(&v.tail, v.tail.To+1, b.At[n-1])
		case len(v.tail.Frames) > 0:
			v.add(&v.tail, b.At[0], b.At[n-1])
		}
		v.level = b.To[n-1]
	}
	v.b, v.frames, v.glitches = nil, nil, nil
}

// back is the poll that frame i answers, if it stands just before it.
func (v *view) back(i int) (poll *link.Frame, ok bool) {
	if v.frames[i].Turnaround < 0 {
		return nil, false
	}
	switch {
	case i > 0:
		poll = &v.frames[i-1]
	case len(v.tail.Frames) > 0:
		poll = &v.tail.Frames[0]
	default:
		return nil, false
	}
	return poll, poll.Poll
}

// exchange copies frame i and the poll that it answers into e, whose storage is used again.
func (v *view) exchange(e *Excerpt, i int) {
	_, ok := v.back(i)
	switch {
	case !ok:
		v.alone(e, i)
	case i > 0:
		v.stretch(e, v.frames[i-1].At-v.margin, v.ends(i))
		e.Frames = push(push(e.Frames, &v.frames[i-1]), &v.frames[i])
	default:
		copyTo(e, &v.tail)
		e.To = v.ends(i)
		v.add(e, v.b.At[0], e.To)
		e.Frames = push(e.Frames, &v.frames[i])
	}
}

// alone copies frame i into e, whose storage is used again.
func (v *view) alone(e *Excerpt, i int) {
	v.stretch(e, v.frames[i].At-v.margin, v.ends(i))
	e.Frames = push(e.Frames, &v.frames[i])
}

// ends is how far an excerpt of frame i reaches: not into the next burst, which may stand in another batch.
func (v *view) ends(i int) capture.Tick {
	f, all := &v.frames[i], v.b.Bursts
	to := f.End + v.margin
	if k := sort.Search(len(all), func(k int) bool { return all[k].Until > f.At }); k < len(all) {
		to = min(to, all[k].Until-1)
	}
	return to
}

// around is the frame that an instant falls into, or -1.
func (v *view) around(at capture.Tick) int {
	i := sort.Search(len(v.frames), func(i int) bool { return v.frames[i].End >= at })
	if i == len(v.frames) || v.frames[i].At > at {
		return -1
	}
	return i
}

// stretch copies the raw line from one instant to another into e, whose storage is used again. No frame is in it.
func (v *view) stretch(e *Excerpt, from, to capture.Tick) {
	*e = Excerpt{From: from, To: to, First: v.before(from), Frames: e.Frames[:0],
		Line: capture.Transitions{At: e.Line.At[:0], To: e.Line.To[:0]}, Glitches: e.Glitches[:0]}
	v.add(e, from, to)
}

// add appends the transitions and glitches in [from, to].
func (v *view) add(e *Excerpt, from, to capture.Tick) {
	at := v.b.At
	lo := sort.Search(len(at), func(i int) bool { return at[i] >= from })
	hi := lo + sort.Search(len(at)-lo, func(i int) bool { return at[lo+i] > to })
	hi = max(lo, min(hi, lo+mostTransitions-len(e.Line.At)))
	e.Line.At = append(e.Line.At, at[lo:hi]...)
	e.Line.To = append(e.Line.To, v.b.To[lo:hi]...)
	for i := sort.Search(len(v.glitches), func(i int) bool { return v.glitches[i].At >= from }); i < len(v.glitches); i++ {
		if v.glitches[i].At > to || len(e.Glitches) >= mostGlitches {
			break
		}
		e.Glitches = append(e.Glitches, v.glitches[i])
	}
}

// before is the level at an instant of the batch, or just before it.
func (v *view) before(at capture.Tick) capture.Level {
	i := sort.Search(len(v.b.At), func(i int) bool { return v.b.At[i] >= at })
	switch {
	case i > 0:
		return v.b.To[i-1]
	case v.level != capture.Unknown:
		return v.level
	case i < len(v.b.To) && v.b.To[i] == capture.High:
		return capture.Low
	}
	return capture.High
}

// push appends a copy of f, in the storage of what stood there before if anything did.
func push(all []link.Frame, f *link.Frame) []link.Frame {
	n := len(all)
	if n == cap(all) {
		all = append(all, link.Frame{})
	}
	all = all[:n+1]
	c := &all[n]
	values, octets, chars := c.Values[:0], c.Octets[:0], c.Chars[:0]
	*c = *f
	c.Values, c.Octets, c.Chars = append(values, f.Values...), append(octets, f.Octets...), append(chars, f.Chars...)
	return all
}

// copyTo makes dst, whose storage is used again, a copy of src.
func copyTo(dst, src *Excerpt) {
	line, frames, glitches := dst.Line, dst.Frames[:0], dst.Glitches[:0]
	*dst = *src
	dst.Line = capture.Transitions{At: append(line.At[:0], src.Line.At...), To: append(line.To[:0], src.Line.To...)}
	for i := range src.Frames {
		frames = push(frames, &src.Frames[i])
	}
	dst.Frames, dst.Glitches = frames, append(glitches, src.Glitches...)
}
