// Package checksum computes, checks and finds the sums that guard frames.
//
// A Sum is an algorithm of one or two octets: plain sums and their complements, exclusive or, Fletcher's, and CRC of 8
// and 16 bits with any parameters (Catalogue has those in common use). A Spec says where in a frame the sum stands and
// what it covers. Search finds the Specs that fit a set of frames, each with the chance that it fits by accident.
//
//	frame     AA 55 04 10 20 30 | 64 | 16       sum8 over [2, -2), at -2, one end mark after it
//	               ^From         ^To = At
//
// The names of the simple sums, and what other names the trade has for them:
//
//	sum8                        sum modulo 256 (IEC 60870-5-1 FT1.2, EN 13757-2)
//	sum8-twos-complement        0 - sum8 (longitudinal redundancy check of Modbus ASCII; Intel HEX)
//	sum8-ones-complement        NOT sum8 (S-record)
//	sum8-carry                  sum with end-around carry, i.e. the ones' complement sum
//	sum8-carry-ones-complement  NOT sum8-carry (LIN 2.2A clause 2.8.3; the enhanced model covers the identifier too)
//	xor8                        exclusive or (IEC 62056-21 block check; NMEA 0183)
//	fletcher16                  two sums modulo 255, the second in the high octet
//	fletcher16-mod256           the same modulo 256
//
// Nothing here allocates while it checks; a Sum may be used by many goroutines at once.
package checksum

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Sum is a checksum algorithm.
type Sum interface {
	// Size is the number of octets the sum takes in a frame, 1 or 2.
	Size() int
	// Compute is the sum over data; of one octet, the upper half is 0.
	Compute(data []byte) uint16
	// String is the algorithm in words that Parse reads back.
	String() string
}

// ErrNone and ErrUnknown are what Parse gives for "none" and "unknown": words of a link's description that name no
// algorithm, which the caller keeps apart from a mistake.
var (
	ErrNone    = errors.New("checksum: none: frames carry no checksum")
	ErrUnknown = errors.New("checksum: unknown: how frames are guarded has not been found out")
)

// Parse reads an algorithm: a simple sum's name with an optional " init=0x55", or
//
//	crc8 poly=0x07 init=0x00 refin=false refout=false xorout=0x00 (CRC-8/SMBUS)
//
// with the catalogue's name optional; if given, it must be the catalogue's for these parameters. crc16 is written
// likewise. For "none" and "unknown" the error is ErrNone and ErrUnknown. Sum and error are never both nil.
func Parse(text string) (Sum, error) {
	words := strings.Fields(text)
	if len(words) == 0 {
		return nil, errors.New("checksum: expected an algorithm such as sum8, found nothing")
	}
	switch words[0] {
	case "none", "unknown":
		if len(words) > 1 {
			return nil, fmt.Errorf("checksum: expected nothing after %s, found %q", words[0], words[1])
		}
		if words[0] == "none" {
			return nil, ErrNone
		}
		return nil, ErrUnknown
	case "crc8":
		return parseCRC(8, words[1:])
	case "crc16":
		return parseCRC(16, words[1:])
	}
	for k, s := range simples {
		if s.name == words[0] {
			return parseSimple(kind(k), words[1:])
		}
	}
	return nil, fmt.Errorf("checksum: expected %s, crc8, crc16, none or unknown, found %q", simpleNames(), words[0])
}

// parseSimple reads what follows a simple sum's name.
func parseSimple(k kind, words []string) (Sum, error) {
	s := simple{kind: k}
	if len(words) > 1 {
		return nil, fmt.Errorf("checksum: %s: expected at most init=, found also %q", simples[k].name, words[1])
	}
	if len(words) == 1 {
		v, err := number(words[0], "init", 8*s.Size())
		if err != nil {
			return nil, fmt.Errorf("checksum: %s: %w", simples[k].name, err)
		}
		s.init = v
	}
	return s, nil
}

// parseCRC reads what follows crc8 or crc16.
func parseCRC(width int, words []string) (Sum, error) {
	p := Params{Width: width}
	var errs [5]error
	if len(words) < len(errs) {
		return nil, fmt.Errorf("checksum: crc%d: expected poly=, init=, refin=, refout= and xorout=, found %d of them", width, len(words))
	}
	p.Poly, errs[0] = number(words[0], "poly", width)
	p.Init, errs[1] = number(words[1], "init", width)
	p.RefIn, errs[2] = truth(words[2], "refin")
	p.RefOut, errs[3] = truth(words[3], "refout")
	p.XorOut, errs[4] = number(words[4], "xorout", width)
	for _, err := range errs {
		if err != nil {
			return nil, fmt.Errorf("checksum: crc%d: %w", width, err)
		}
	}
	c, err := NewCRC(p)
	if err != nil {
		return nil, err
	}
	switch rest := words[5:]; {
	case len(rest) > 1:
		return nil, fmt.Errorf("checksum: crc%d: expected at most a name in brackets after xorout=, found also %q", width, rest[1])
	case len(rest) == 1 && (c.name == "" || rest[0] != "("+c.name+")"):
		return nil, fmt.Errorf("checksum: crc%d: expected the catalogue's name for these parameters, %q, found %q", width, c.name, rest[0])
	}
	return c, nil
}

// number reads key=0x.. of at most width bits.
func number(word, key string, width int) (uint16, error) {
	digits, ok := strings.CutPrefix(word, key+"=0x")
	if !ok {
		return 0, fmt.Errorf("expected %s=0x.., found %q", key, word)
	}
	v, err := strconv.ParseUint(digits, 16, width)
	if err != nil {
		return 0, fmt.Errorf("expected %s of at most %d bits, found %q", key, width, word)
	}
	return uint16(v), nil
}

// truth reads key=true or key=false.
func truth(word, key string) (bool, error) {
	switch word {
	case key + "=true":
		return true, nil
	case key + "=false":
		return false, nil
	}
	return false, fmt.Errorf("expected %s=true or %s=false, found %q", key, key, word)
}
