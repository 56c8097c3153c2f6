package output

import "linewitness/decode/link"

// newChecksum says how the link's frames are proved, where that is known.
func newChecksum(p *link.Profile) checksumJSON {
	switch s := p.Checksum; {
	case s != nil && s.Sum != nil:
		at := s.At
		return checksumJSON{Checksum: s.Sum.String(), Covers: []int{s.From, s.To}, At: &at, Order: known(s.Order.String())}
	case p.NoChecksum:
		return noChecksum("none")
	}
	return noChecksum("unknown")
}
