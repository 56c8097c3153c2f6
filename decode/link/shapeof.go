package link

import "linewitness/capture"

// ShapeOf finds the first shape that octets of a frame have, with the coding taken off; -1: none. A shape of one side fits
// no other side's frames; SideUnknown is any.
func (p *Profile) ShapeOf(octets []byte, side capture.Side) int {
	for i := range p.Shapes {
		if p.Shapes[i].fits(octets, side) {
			return i
		}
	}
	return -1
}

func (s *Shape) fits(octets []byte, side capture.Side) bool {
	if s.Length > 0 && len(octets) != s.Length {
		return false
	}
	if side != s.From && side != capture.SideUnknown && s.From != capture.SideUnknown {
		return false
	}
	for _, m := range s.Match {
		i := at(m.At, len(octets))
		if i < 0 || i >= len(octets) || octets[i]&m.Mask != m.Value {
			return false
		}
	}
	return true
}

// at is a place counted from the start; negative ones count from the end of n.
func at(place, n int) int {
	if place < 0 {
		return place + n
	}
	return place
}

// SideOfFrame is who sent a frame: by the level of its spaces, else by the shape it has, else by the unit whose address it
// carries; SideUnknown where none of them says.
func (p *Profile) SideOfFrame(f *Frame) capture.Side {
	if side := p.SideOf(f.Space); side != capture.SideUnknown {
		return side
	}
	if i := f.Shape; i >= 0 && i < len(p.Shapes) && p.Shapes[i].From != capture.SideUnknown {
		return p.Shapes[i].From
	}
	if p.Address == nil {
		return capture.SideUnknown
	}
	i := at(p.Address.At, len(f.Octets))
	if i < 0 || i >= len(f.Octets) {
		return capture.SideUnknown
	}
	for _, u := range p.Address.Names {
		if u.Value == f.Octets[i] {
			return u.Side
		}
	}
	return capture.SideUnknown
}
