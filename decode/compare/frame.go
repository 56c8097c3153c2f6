package compare

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/link"
)

// Frame is what is kept of a frame: enough to know it again.
type Frame struct {
	At, End capture.Tick
	Hash    uint64 // of its characters, see Hash
	Side    capture.Side
	Why     link.Why
	Space   capture.Level
	Poll    bool
	Length  uint16 // characters
}

// Keep is the compact form of a frame.
func Keep(f *link.Frame) Frame {
	return Frame{At: f.At, End: f.End, Hash: Hash(f.Values), Side: f.Side, Why: f.Why, Space: f.Space, Poll: f.Poll,
		Length: uint16(min(len(f.Values), math.MaxUint16))}
}

// Whole tells whether all of the frame is there and right; it may have come late.
func (f *Frame) Whole() bool { return f.Why&^link.WhyTiming == 0 }

// Hash is a hash of a frame's characters (FNV-1a, 64 bits, over their octets): equal content has equal ones, and of a
// million different frames two have the same in one case of 40 million.
func Hash(values []uint16) uint64 {
	h := uint64(14695981039346656037)
	for _, v := range values {
		h = (h ^ uint64(v&0xFF)) * 1099511628211
		h = (h ^ uint64(v>>8)) * 1099511628211
	}
	return h
}

// Span is an interval of a recording's own axis.
type Span struct{ From, To capture.Tick }

// Recording is one recording's frames in order of time.
type Recording struct {
	Clock    capture.Clock
	From, To capture.Tick // first and last instant covered
	Gaps     []Span       // lost intervals within, in order
	Frames   []Frame
	Bit      float64 // unit interval, s
	Mid      bool    // the line has three levels: that of a space names who opened the loop
}

// heard are the whole frames of a recording, in seconds.
type heard struct {
	at    []float64
	hash  []uint64
	of    []int // index into Frames
	from  float64
	to    float64
	short float64 // unit interval, s
}

func hear(r *Recording) *heard {
	h := &heard{from: r.Clock.Seconds(r.From), to: r.Clock.Seconds(r.To), short: r.Bit}
	for i := range r.Frames {
		f := &r.Frames[i]
		if !f.Whole() {
			continue
		}
		h.at = append(h.at, r.Clock.Seconds(f.At))
		h.hash = append(h.hash, f.Hash)
		h.of = append(h.of, i)
	}
	return h
}
