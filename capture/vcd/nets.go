package vcd

import (
	"fmt"
	"math"
	"strings"
)

// The limits of a header.
const (
	mostNets      = 1_000_000
	mostCodeBytes = 64 << 20
	longestCode   = 4 << 10
	mostListed    = 10
)

// code is an identifier code: n printable characters, of which key has the first three.
type code struct {
	key  uint32
	n    int
	long string // the whole code where n > 3
}

func newCode(id []byte) code {
	c := code{n: len(id)}
	for i := 0; i < len(id) && i < 3; i++ {
		c.key |= uint32(id[i]) << (8 * i)
	}
	if c.n > 3 {
		c.long = string(id)
	}
	return c
}

// short is the key that a scalar of this code has in the fast path; none has the key of a long or missing code.
func (c code) short() uint32 {
	if c.n == 0 || c.n > 3 {
		return math.MaxUint32
	}
	return c.key
}

// is tells whether id is this code.
func (c code) is(id []byte) bool {
	if c.n != len(id) {
		return false
	}
	if c.n > 3 {
		return c.long == string(id)
	}
	return c == newCode(id)
}

// kind is what a declared code stands for.
type kind uint8

const (
	undeclared kind = iota
	other           // vectors, events, constants
	bit             // 1 bit: may be the level
	volts           // real: may be the volts
)

// shortTable has the kinds of the codes of 1 to 3 characters ! to ~, dense.
type shortTable struct {
	one   [94]kind
	two   []kind
	three []kind
}

// get is the kind of a key as made by newCode; undeclared for what is no code.
func (t *shortTable) get(key uint32) kind {
	p := t.place(key)
	if p == nil {
		return undeclared
	}
	return *p
}

func (t *shortTable) place(key uint32) *kind {
	a, b, c := key&0xFF-'!', key>>8-'!', key>>16-'!'
	switch {
	case a >= 94:
	case key < 1<<8:
		return &t.one[a]
	case key < 1<<16:
		if i := b*94 + a; b < 94 && i < uint32(len(t.two)) {
			return &t.two[i]
		}
	default:
		b = key>>8&0xFF - '!'
		if i := (c*94+b)*94 + a; b < 94 && c < 94 && i < uint32(len(t.three)) {
			return &t.three[i]
		}
	}
	return nil
}

// nets are the declared nets: the kind of each code, and the names of those few that may be asked for.
type nets struct {
	wanted string
	short  shortTable
	long   map[string]kind

	vars      int
	codeBytes int
	chosen    [2][]found // nets of 1 bit, real nets: as far as they fit what is wanted
	listed    []string   // nets that might have been meant, for errors
	unlisted  int
}

// found is a net that may be read.
type found struct {
	code code
	path string
}

func (n *nets) kindOf(id []byte) kind {
	if len(id) > 3 {
		return n.long[string(id)]
	}
	return n.short.get(newCode(id).key)
}

// declare notes a net and whether it may be the one to read.
func (n *nets) declare(id []byte, k kind, scope, name, bits []byte) error {
	n.vars++
	if n.vars > mostNets {
		return fmt.Errorf("more than %d nets", mostNets)
	}
	had := n.kindOf(id)
	if had == undeclared {
		if n.codeBytes += len(id); n.codeBytes > mostCodeBytes {
			return fmt.Errorf("identifier codes of more than %d MiB", mostCodeBytes>>20)
		}
		n.set(id, k)
	} else if had != k && k != other && had != other {
		return fmt.Errorf("a code that stands for nets of different types")
	}
	if k != other {
		n.offer(id, k, scope, name, bits, had == k)
	}
	return nil
}

func (n *nets) set(id []byte, k kind) {
	if len(id) > 3 {
		if n.long == nil {
			n.long = make(map[string]kind)
		}
		n.long[string(id)] = k
		return
	}
	switch {
	case len(id) == 2 && n.short.two == nil:
		n.short.two = make([]kind, 94*94)
	case len(id) == 3 && n.short.three == nil:
		n.short.three = make([]kind, 94*94*94)
	}
	*n.short.place(newCode(id).key) = k
}

// offer keeps a net that fits what is wanted. Of many, a few are kept: enough to say that there are too many.
func (n *nets) offer(id []byte, k kind, scope, name, bits []byte, alias bool) {
	if !alias || n.wanted != "" {
		n.list(scope, name, bits)
	}
	if n.wanted != "" && !fits(n.wanted, scope, name, bits) {
		return
	}
	of := &n.chosen[k-bit]
	for _, f := range *of {
		if f.code.is(id) {
			return
		}
	}
	// Without a wish an alias of a net beyond the few kept is not new, and it changes nothing.
	if len(*of) < mostListed {
		*of = append(*of, found{newCode(id), joined(scope, name, bits)})
	}
}

func (n *nets) list(scope, name, bits []byte) {
	if len(n.listed) < mostListed {
		n.listed = append(n.listed, joined(scope, name, bits))
	} else {
		n.unlisted++
	}
}

// fits tells whether a net is meant by wanted: name, path, or either with the range.
func fits(wanted string, scope, name, bits []byte) bool {
	if head, ok := strings.CutSuffix(wanted, string(bits)); ok && len(bits) > 0 && isNet(head, scope, name) {
		return true
	}
	return isNet(wanted, scope, name)
}

func isNet(wanted string, scope, name []byte) bool {
	if wanted == string(name) {
		return true
	}
	head, ok := strings.CutSuffix(wanted, string(name))
	return ok && len(scope) > 0 && head == string(scope)+"."
}

func joined(scope, name, bits []byte) string {
	var b strings.Builder
	if len(scope) > 0 {
		b.Write(scope)
		b.WriteByte('.')
	}
	b.Write(name)
	b.Write(bits)
	return shorten(b.String())
}

// shorten keeps messages readable: a name may be kilobytes.
func shorten(s string) string {
	const most = 80
	if len(s) > most {
		return s[:most] + "..."
	}
	return s
}

// choose is the outcome: the level's code, the volts' code, or what was expected and found instead.
func (n *nets) choose() (level, volts code, expected, got string) {
	bits, reals := n.chosen[0], n.chosen[1]
	if n.wanted != "" {
		switch len(bits) + len(reals) {
		case 0:
			return level, volts, fmt.Sprintf("a 1-bit or real net %q", shorten(n.wanted)), n.names()
		case 1:
		default:
			return level, volts, fmt.Sprintf("one net %q", shorten(n.wanted)), "several: " + paths(bits, reals)
		}
	}
	switch {
	case len(bits)+len(reals) == 0:
		return level, volts, "a 1-bit or real net", "none"
	case len(bits) > 1 || len(reals) > 1:
		return level, volts, "one 1-bit net or one real net, or the name of the net to read", n.names()
	}
	if len(bits) > 0 {
		level = bits[0].code
	}
	if len(reals) > 0 {
		volts = reals[0].code
	}
	return level, volts, "", ""
}

func (n *nets) names() string {
	if len(n.listed) == 0 {
		return "none"
	}
	s := strings.Join(n.listed, ", ")
	if n.unlisted > 0 {
		s += fmt.Sprintf(" and %d more", n.unlisted)
	}
	return s
}

func paths(of ...[]found) string {
	var all []string
	for _, fs := range of {
		for _, f := range fs {
			all = append(all, f.path)
		}
	}
	return strings.Join(all[:min(len(all), mostListed)], ", ")
}
