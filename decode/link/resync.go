package link

import (
	"slices"

	"linewitness/decode/uart"
)

// Where a frame in a run is broken, the cutter looks for the next place at which one begins that keeps every rule; what
// stands before it is one bad frame. Where only the sum of a frame is wrong and its marks and length stand, and the next
// frame follows it in its place, it is a bad frame by itself: so a sender of wrong sums sends bad frames, not one.
//
// Work: tries look at most at budget characters a character of the run, ahead of the place they are at by no more than
// ahead; what that does not allow is not tried. A run without damage is looked at once. Frames of up to 128 characters
// without marks are always found again after one lost character.
const (
	budget = 32
	ahead  = 512
)

// run cuts the characters [from, to), which no silence parts.
func (k *Cutter) run(dst *Frames, chars []uart.Character, from, to int) {
	n, v0, o0 := to-from, len(dst.values), len(dst.octets)
	r := run{k: k, dst: dst, chars: chars[from:to:to], first: from, from: 1, end: 0, side: k.p.SideOf(chars[from].Space)}
	dst.values = slices.Grow(dst.values, n)[:v0+n]
	r.values = dst.values[v0:]
	if k.p.Framing.Coding == CodingPlain {
		dst.octets = slices.Grow(dst.octets, n)[:o0+n]
		r.raw = dst.octets[o0:]
	}
	r.faulty = r.fill() != 0 || k.inside > 0
	if k.own && (!k.unguarded() || n%k.p.Framing.Fixed == 0) {
		r.split()
	} else {
		r.whole(0, n)
	}
	dst.worked += r.spent
}

// fill copies the characters' values and gathers their faults.
func (r *run) fill() (all uart.Fault) {
	chars, values, raw := r.chars, r.values[:len(r.chars)], r.raw
	if raw == nil {
		for i := range chars {
			values[i] = chars[i].Value
			all |= chars[i].Fault
		}
		return all
	}
	raw = raw[:len(chars)]
	for i := range chars {
		c := &chars[i]
		values[i], raw[i] = c.Value, byte(c.Value)
		all |= c.Fault
	}
	return all
}

// unguarded tells that a frame has nothing but its length to know it by: a run that it does not divide could be cut
// anywhere.
func (k *Cutter) unguarded() bool {
	f := &k.p.Framing
	return f.Fixed > 0 && k.p.Checksum == nil && len(f.Start) == 0 && len(f.End) == 0 && !f.Break
}

// split cuts the run into frames, good ones and what stands between them.
func (r *run) split() {
	for q := 0; q < len(r.values); {
		arena := len(r.dst.octets)
		p := r.parse(q, len(r.values))
		if p.why == 0 {
			r.frame(q, q+p.n, p.octets, 0)
			q += p.n
			continue
		}
		if p.why != WhyChecksum {
			p.n = 0
		}
		next := r.next(q, p.n)
		r.dst.octets = r.dst.octets[:arena]
		r.whole(q, next)
		q = next
	}
}

// next is where the bad frame at q ends. n is its length where only its sum is wrong, else 0.
func (r *run) next(q, n int) int {
	f, all := &r.k.p.Framing, len(r.values)
	from := q + 1
	if n > 0 {
		follows := q + n
		marked := len(f.Start) > 0 || f.Break
		measured := f.Fixed > 0 || f.Length != nil
		switch {
		case !measured && (!marked || f.Break && len(f.End) == 0):
			return follows // behind an end mark, or at a break
		case measured && (follows == all || r.good(follows)):
			return follows
		}
		for ; from <= follows && from < all; from++ {
			if r.good(from) {
				return from
			}
		}
		if follows == all || (marked || len(f.End) > 0 || f.Fixed > 0) && r.shaped(follows) {
			return follows
		}
	}
	if r.k.p.Checksum == nil && len(f.Start) == 0 && !f.Break {
		return all // any place would do for a frame
	}
	for ; from < all; from++ {
		if r.good(from) {
			return from
		}
	}
	return all
}

// good tells whether a frame that keeps every rule of marks, length and checksum begins at q.
func (r *run) good(q int) bool { return r.try(q).why == 0 }

// shaped tells whether a frame with the marks and the length of one begins at q.
func (r *run) shaped(q int) bool { return r.try(q).why&WhyLength == 0 }

func (r *run) try(q int) piece {
	if r.spent > budget*min(len(r.values), q+ahead) {
		return noPiece
	}
	arena := len(r.dst.octets)
	p := r.parse(q, len(r.values))
	r.dst.octets = r.dst.octets[:arena]
	return p
}

// whole makes one frame of the characters [from, to), whatever they are.
func (r *run) whole(from, to int) {
	arena := len(r.dst.octets)
	if r.k.own {
		if p := r.parse(from, to); p.n == to-from {
			r.frame(from, to, p.octets, p.why)
			return
		}
		r.dst.octets = r.dst.octets[:arena]
	}
	octets, whole := r.take(from, to)
	why := r.dst.check.rules(octets, r.side)
	switch {
	case !whole:
		why = WhyLength // a sum over what was left of a broken coding says nothing
	case r.k.own:
		why |= WhyLength
	}
	r.frame(from, to, octets, why)
}
