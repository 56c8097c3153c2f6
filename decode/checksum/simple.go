package checksum

import (
	"fmt"
	"strings"
)

// kind is one of the simple sums.
type kind uint8

const (
	sum8 kind = iota
	sum8Twos
	sum8Ones
	sum8Carry
	sum8CarryOnes
	xor8
	fletcher255
	fletcher256
)

// simples is the table of the simple sums. additive marks those that are sums of the octets in some modulus, the rest
// is linear over GF(2). offset marks those of which any start value is a different constant added to the result.
var simples = [...]struct {
	name     string
	size     int
	additive bool
	offset   bool
}{
	sum8:          {"sum8", 1, true, true},
	sum8Twos:      {"sum8-twos-complement", 1, true, true},
	sum8Ones:      {"sum8-ones-complement", 1, true, true},
	sum8Carry:     {"sum8-carry", 1, true, false},
	sum8CarryOnes: {"sum8-carry-ones-complement", 1, true, false},
	xor8:          {"xor8", 1, false, true},
	fletcher255:   {"fletcher16", 2, true, false},
	fletcher256:   {"fletcher16-mod256", 2, true, false},
}

// simpleNames lists the names for a message.
func simpleNames() string {
	names := make([]string, len(simples))
	for i, s := range simples {
		names[i] = s.name
	}
	return strings.Join(names, ", ")
}

// simple is a simple sum with its start value. For Fletcher's the low octet starts the first sum, the high one the
// second.
type simple struct {
	kind kind
	init uint16
}

func (s simple) Size() int { return simples[s.kind].size }

func (s simple) String() string {
	if s.init == 0 {
		return simples[s.kind].name
	}
	return fmt.Sprintf("%s init=0x%0*X", simples[s.kind].name, 2*s.Size(), s.init)
}

func (s simple) Compute(data []byte) uint16 {
	switch s.kind {
	case sum8:
		return (s.init + plain(data)) & 0xFF
	case sum8Twos:
		return -(s.init + plain(data)) & 0xFF
	case sum8Ones:
		return ^(s.init + plain(data)) & 0xFF
	case sum8Carry:
		return carry(s.init, data)
	case sum8CarryOnes:
		return ^carry(s.init, data) & 0xFF
	case xor8:
		x := byte(s.init)
		for _, b := range data {
			x ^= b
		}
		return uint16(x)
	case fletcher255:
		return fletcher(s.init, data, 255)
	case fletcher256:
		return fletcher(s.init, data, 256)
	}
	panic("checksum: unknown simple sum")
}

// plain is the sum modulo 65536.
func plain(data []byte) uint16 {
	var sum uint16
	for _, b := range data {
		sum += uint16(b)
	}
	return sum
}

// carry is the sum with end-around carry. Carrying at every step and folding once at the end agree: both give the
// representative in 1..255 modulo 255, and 0 only where everything was 0.
func carry(init uint16, data []byte) uint16 {
	sum := uint64(init)
	for _, b := range data {
		sum += uint64(b)
	}
	if sum == 0 {
		return 0
	}
	return uint16((sum-1)%255) + 1
}

// fletcher is Fletcher's sum (IEEE Transactions on Communications 30(1), 1982) of 8 + 8 bits. Remainders are taken
// every 4,096 octets: by then the second sum is at most 255 + 4096*(255 + 4097/2*255) < 2^32.
func fletcher(init uint16, data []byte, modulus uint32) uint16 {
	a, b := uint32(init&0xFF), uint32(init>>8)
	for len(data) > 0 {
		block := data[:min(len(data), 4096)]
		for _, octet := range block {
			a += uint32(octet)
			b += a
		}
		a, b = a%modulus, b%modulus
		data = data[len(block):]
	}
	return uint16(b%modulus<<8 | a%modulus)
}
