package linkfile

import (
	"errors"
	"fmt"
	"strings"

	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/link/strict"
)

func (b *builder) sum() *strict.Error {
	s := b.doc.Checksum
	if s == nil {
		return nil
	}
	sum, err := checksum.Parse(string(s.Rule))
	if errors.Is(err, checksum.ErrNone) || errors.Is(err, checksum.ErrUnknown) {
		b.p.NoChecksum = errors.Is(err, checksum.ErrNone)
		for _, key := range []string{"covers", "at", "order"} {
			if b.Has("checksum." + key) {
				return b.WrongKey("checksum."+key, "no "+key+" beside rule: "+string(s.Rule), "both")
			}
		}
		return nil
	}
	if err != nil {
		expected, found := "expected another rule", err.Error()
		if e, f, ok := strings.Cut(strings.TrimPrefix(found, "checksum: "), ", found "); ok {
			expected, found = e, f
		}
		return b.Wrong("checksum.rule", expected[strings.LastIndex(expected, "expected ")+len("expected "):], found)
	}
	spec := checksum.Spec{Sum: sum, At: s.At}
	if !b.Has("checksum.at") {
		spec.At = -sum.Size()
	}
	spec.To = spec.At
	if len(s.Covers) == 2 {
		spec.From, spec.To = s.Covers[0], s.Covers[1]
	}
	if s.Order == "little" {
		if sum.Size() == 1 {
			return b.Wrong("checksum.order", "no order for a sum of one octet", "little")
		}
		spec.Order = checksum.Little
	}
	b.p.Checksum = &spec
	return b.suits(&spec)
}

// suits refuses a sum that stands in no frame, or among the octets that it covers.
func (b *builder) suits(s *checksum.Spec) *strict.Error {
	path := "checksum"
	for _, key := range []string{".at", ".covers"} {
		if b.Has("checksum" + key) {
			path = "checksum" + key
		}
	}
	found := fmt.Sprintf("[%d, %d) and %d", s.From, s.To, s.At)
	if n := b.octets(); n > 0 {
		if _, _, _, short := s.Verify(make([]byte, n)); short {
			return b.Wrong(path, fmt.Sprintf("octets and a sum outside them in a frame of %d", n), found)
		}
		return nil
	}
	frame := make([]byte, 4096)
	for n := range len(frame) + 1 {
		if _, _, _, short := s.Verify(frame[:n]); !short {
			return nil
		}
	}
	return b.Wrong(path, "octets and a sum outside them in a frame of at most 4096", found)
}

func (b *builder) address() *strict.Error {
	a := b.doc.Address
	if a == nil {
		return nil
	}
	if !inside(a.At, 1, b.octets()) {
		return b.Wrong("address.at", fmt.Sprintf("a place in a frame of %d octets", b.octets()), fmt.Sprint(a.At))
	}
	out := &link.Address{At: a.At}
	values, named := map[int]bool{}, map[text]bool{}
	for i, u := range a.Units {
		path := fmt.Sprintf("address.units[%d]", i)
		if values[u.Value] {
			return b.Wrong(path+".value", "each address once", fmt.Sprintf("0x%02X a second time", u.Value))
		}
		if named[u.Name] {
			return b.Wrong(path+".name", "each name once", strict.Quote(string(u.Name))+" a second time")
		}
		values[u.Value], named[u.Name] = true, true
		out.Names = append(out.Names, link.Unit{Value: byte(u.Value), Name: string(u.Name), Side: sides[u.Side]})
	}
	b.p.Address = out
	return nil
}

// inside tells whether n octets at a place stand in a frame of length octets; length 0: any.
func inside(at, n, length int) bool {
	if at < 0 {
		return at+n <= 0 && (length == 0 || -at <= length)
	}
	return length == 0 || at+n <= length
}
