package checksum

import "fmt"

// Order is the order of a two-octet sum's octets on the line.
type Order uint8

// Big: the high octet first. A sum of one octet has no order and is Big.
const (
	Big Order = iota
	Little
)

func (o Order) String() string {
	switch o {
	case Big:
		return "big"
	case Little:
		return "little"
	}
	return fmt.Sprintf("order %d", uint8(o))
}

// ParseOrder reads "big" or "little".
func ParseOrder(name string) (Order, error) {
	switch name {
	case "big":
		return Big, nil
	case "little":
		return Little, nil
	}
	return Big, fmt.Errorf("checksum order: expected big or little, found %q", name)
}

// Spec says where in a frame a sum stands and what it covers: octets [From, To). From, To and At count from the
// frame's start, or if negative from its end; To = 0 is the frame's end. The sum's own octets are not covered: a frame
// in which they would be does not suit the Spec. The zero Spec suits no frame.
type Spec struct {
	Sum      Sum
	From, To int
	At       int
	Order    Order
}

// place finds the range and the sum, and that one's size, in a frame of n octets.
func (s *Spec) place(n int) (from, to, at, size int, ok bool) {
	if s.Sum == nil || s.Order > Little {
		return 0, 0, 0, 0, false
	}
	from, to, at = s.From, s.To, s.At
	if from < 0 {
		from += n
	}
	if to <= 0 {
		to += n
	}
	if at < 0 {
		at += n
	}
	size = s.Sum.Size()
	ok = 0 <= from && from <= to && to <= n && 0 <= at && at <= n-size && (to <= at || at+size <= from || from == to)
	return from, to, at, size, ok
}

// Verify compares the sum in the frame (got) with what it should be (want). short: the frame is too short for the Spec,
// or the Spec does not suit it; then nothing was compared and ok is false.
func (s *Spec) Verify(frame []byte) (ok bool, want, got uint16, short bool) {
	from, to, at, size, fits := s.place(len(frame))
	if !fits {
		return false, 0, 0, true
	}
	want = s.Sum.Compute(frame[from:to])
	got = uint16(frame[at])
	if size == 2 {
		if s.Order == Big {
			got = got<<8 | uint16(frame[at+1])
		} else {
			got |= uint16(frame[at+1]) << 8
		}
	}
	return want == got, want, got, false
}

// Put writes the right sum into the frame. It is false, and the frame as it was, where the frame is too short.
func (s *Spec) Put(frame []byte) bool {
	from, to, at, size, fits := s.place(len(frame))
	if !fits {
		return false
	}
	v := s.Sum.Compute(frame[from:to])
	switch {
	case size == 1:
		frame[at] = byte(v)
	case s.Order == Big:
		frame[at], frame[at+1] = byte(v>>8), byte(v)
	default:
		frame[at], frame[at+1] = byte(v), byte(v>>8)
	}
	return true
}
