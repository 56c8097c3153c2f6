package capture

import (
	"errors"
	"io"
	"time"
)

// Info is what is known of a recording before its first block.
type Info struct {
	Name   string    // file name as given, "-" for standard input
	Format string    // "vcd", "csv", ...
	Clock  Clock     //
	Tap    Tap       // TapUnknown unless the recording says so
	Start  time.Time // wall time of the axis' zero; zero time: not known
	Levels bool      // transitions will come
	Volts  bool      // samples will come
	Size   int64     // bytes in all, for progress; 0: not known

	FullScale float64 // volts (amperes) at which the recorder clips; 0: not known
	Relative  bool    // nobody said what full scale is: Volts are fractions of it
}

// Source gives a recording block by block. Next refills the caller's block and returns io.EOF after the last one;
// the first error is kept and repeated. A block is either whole or not given: with an error the block's content is
// undefined.
type Source interface {
	Info() Info
	Next(*Block) error
	Close() error
}

// Budget limits what Head holds: transitions and bytes of block content; a zero field is no limit on that quantity.
type Budget struct {
	Transitions int
	Bytes       int64
	Span        Tick // ticks from the first transition on
}

// Head reads blocks until the budget is used up or the source ends, and returns them together with a Source that
// replays them and goes on. An error of the source (io.EOF too) is replayed at its place and not returned here unless
// nothing at all could be read. With an error no source is returned and s stays the caller's to close.
func Head(s Source, max Budget) (head []Block, all Source, err error) {
	r := &replay{rest: s}
	var used int64
	var transitions int
	var first Tick
	for !full(max, transitions, used, spanOf(r.head, first)) {
		var b Block
		if err := s.Next(&b); err != nil {
			r.end = err
			break
		}
		if transitions == 0 && len(b.At) > 0 {
			first = b.At[0]
		}
		transitions += len(b.At)
		used += b.Bytes() + 128
		r.head = append(r.head, b)
	}
	if len(r.head) == 0 && r.end != nil && !errors.Is(r.end, io.EOF) {
		return nil, nil, r.end
	}
	return r.head, r, nil
}

func spanOf(head []Block, first Tick) Tick {
	if len(head) == 0 {
		return 0
	}
	return head[len(head)-1].End - first
}

func full(max Budget, transitions int, used int64, span Tick) bool {
	return max.Transitions > 0 && transitions >= max.Transitions ||
		max.Bytes > 0 && used >= max.Bytes ||
		max.Span > 0 && transitions > 0 && span >= max.Span
}

// replay gives the head's blocks first, then the rest of the source.
type replay struct {
	head []Block
	rest Source
	end  error // how the rest ended while the head was read
}

func (r *replay) Info() Info   { return r.rest.Info() }
func (r *replay) Close() error { return r.rest.Close() }

func (r *replay) Next(b *Block) error {
	if len(r.head) > 0 {
		r.head[0].CopyTo(b)
		r.head = r.head[1:]
		return nil
	}
	if r.end != nil {
		return r.end
	}
	return r.rest.Next(b)
}
