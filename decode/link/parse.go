package link

import (
	"linewitness/capture"
	"linewitness/decode/uart"
)

// run is a run of characters without a silence between them, of one level of space, on its way into frames.
type run struct {
	k      *Cutter
	dst    *Frames
	chars  []uart.Character
	first  int      // index of its first character in what it was cut from
	values []uint16 // of chars
	raw    []byte   // low octets of values; only of plain coding
	side   capture.Side
	from   int // the first end mark at or behind from stands at end; -1: none
	end    int
	spent  int  // characters looked at
	faulty bool // a character, or a silence between two, breaks a rule
}

// piece is a frame tried at a place: its characters and its octets; n = 0: where it would end can't be told, or its marks
// are wrong.
type piece struct {
	n      int
	octets []byte
	why    Why // of length and checksum
}

var noPiece = piece{why: WhyLength}

// parse tries a frame at the characters from q on, of which those before to are there. Octets with a coding taken off are
// appended to the arena of r.dst.
func (r *run) parse(q, to int) piece {
	p, f := r.k.p, &r.k.p.Framing
	r.spent++
	if !r.starts(q, to) {
		return noPiece
	}
	n := to - q
	switch {
	case f.Fixed > 0:
		n = f.Fixed
	case f.Length != nil && f.Coding != CodingPlain:
		return r.parseCoded(q, to)
	case f.Length != nil:
		n, _ = p.told(r.raw[q:to])
	case len(f.End) > 0:
		n = r.endAt(q+f.head()) + f.tail() - q
	case f.Break:
		n = r.nextBreak(q+1, to) - q
	}
	if n < max(1, f.head()+f.tail()) || n > to-q || n > most || !r.ends(q, n) {
		return noPiece
	}
	octets, whole := r.take(q, q+n)
	if !whole {
		return noPiece
	}
	return r.checked(n, octets)
}

// parseCoded tries a frame with a coding that says its own length.
func (r *run) parseCoded(q, to int) piece {
	p, f, v := r.k.p, &r.k.p.Framing, r.values[q:to]
	at := len(r.dst.octets)
	out := r.dst.octets
	for _, c := range v[:f.head()] {
		out = append(out, byte(c))
	}
	out, next, ok := f.decode(out, v, f.head(), max(0, f.Length.At+1-f.head()))
	n, told := p.told(out[at:])
	more := n - (len(out) - at) - f.tail()
	if !ok || !told || more < 0 || n > most {
		return noPiece
	}
	out, next, ok = f.decode(out, v, next, more)
	r.spent += next
	if !ok || next+f.tail() > len(v) || !r.ends(q, next+f.tail()) {
		return noPiece
	}
	for _, c := range v[next : next+f.tail()] {
		out = append(out, byte(c))
	}
	r.dst.octets = out
	return r.checked(next+f.tail(), out[at:])
}

// checked compares the checksum and finds the shape.
func (r *run) checked(n int, octets []byte) piece {
	r.spent += n
	return piece{n: n, octets: octets, why: r.dst.check.rules(octets, r.side)}
}

// starts tells whether the break and the start mark stand at q.
func (r *run) starts(q, to int) bool {
	f := &r.k.p.Framing
	if to-q < f.head() {
		return false
	}
	if f.Break {
		if r.chars[q].Fault&uart.FaultBreak == 0 {
			return false
		}
		q++
	}
	return same(r.values[q:], f.Start)
}

// ends tells whether the end mark stands where a frame of n characters has it.
func (r *run) ends(q, n int) bool {
	f := &r.k.p.Framing
	return same(r.values[q+n-f.tail():], f.End)
}

func same(v, mark []uint16) bool {
	for i, c := range mark {
		if v[i] != c {
			return false
		}
	}
	return true
}

// endAt is where the first end mark at or behind q stands; past every limit where there is none. The place is kept: tries at
// many places search each character once.
func (r *run) endAt(q int) int {
	const none = 1 << 40
	if q >= r.from && (r.end < 0 || q <= r.end) {
		if r.end < 0 {
			return none
		}
		return r.end
	}
	mark := r.k.p.Framing.End
	r.from, r.end = q, -1
	for i := q; i+len(mark) <= len(r.values); i++ {
		if same(r.values[i:], mark) {
			r.end = i
			break
		}
	}
	if r.end < 0 {
		r.spent += max(0, len(r.values)-q)
		return none
	}
	r.spent += r.end - q
	return r.end
}

func (r *run) nextBreak(q, to int) int {
	for q < to && r.chars[q].Fault&uart.FaultBreak == 0 {
		q++
	}
	return q
}

// take gives the octets of characters [from, to), a whole frame's; whole is false where the coding is broken.
func (r *run) take(from, to int) (octets []byte, whole bool) {
	if r.k.p.Framing.Coding == CodingPlain {
		return r.raw[from:to], true
	}
	at := len(r.dst.octets)
	r.dst.octets, whole = r.k.p.Framing.take(r.dst.octets, r.values[from:to])
	r.spent += to - from
	return r.dst.octets[at:], whole
}

// take appends the octets of a frame's characters: marks are one octet a character, what stands between them is decoded as
// far as it goes.
func (f *Framing) take(dst []byte, v []uint16) (octets []byte, whole bool) {
	head, tail := f.head(), f.tail()
	if whole = len(v) >= head+tail; !whole {
		head, tail = min(head, len(v)), 0
	}
	for _, c := range v[:head] {
		dst = append(dst, byte(c))
	}
	dst, _, ok := f.decode(dst, v[:len(v)-tail], head, -1)
	for _, c := range v[len(v)-tail:] {
		dst = append(dst, byte(c))
	}
	return dst, whole && ok
}
