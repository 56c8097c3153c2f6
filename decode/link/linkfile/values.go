package linkfile

import (
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"linewitness/decode/link/strict"
	"linewitness/decode/uart"
)

// Kinds of values besides Go's own.
type (
	text    = strict.Text
	label   = strict.Label
	prose   = strict.Prose
	format  string // a character format; 8E1 is taken though it looks like a number
	hexText string // hexadecimal digits, blanks between pairs
	named   struct {
		number int64
		name   text
	}
	names []named   // number: name, rising
	point []float64 // degC, ohm
)

const (
	hexMost   = 2 * 4096
	namesMost = 1024
)

// Takes is strict.Word's.
func (format) Takes(s string) (expected string, ok bool) {
	_, err := uart.ParseFormat(s)
	return "data bits 5..9, parity N E O M or S, stop bits 1, 1.5 or 2 (such as 8E1)", err == nil
}

// Bare is strict.Word's.
func (format) Bare() bool { return true }

// Takes is strict.Word's.
func (hexText) Takes(s string) (expected string, ok bool) {
	_, ok = hexText(s).octets()
	return "pairs of hexadecimal digits", ok
}

// Bare is strict.Word's.
func (hexText) Bare() bool { return false }

// octets are the octets of hexadecimal text; ok false: it is none.
func (h hexText) octets() (b []byte, ok bool) {
	for _, word := range strings.Split(string(h), " ") {
		part, err := hex.DecodeString(word)
		if err != nil || len(part) == 0 && h != "" {
			return nil, false
		}
		b = append(b, part...)
	}
	return b, len(b) <= hexMost/2
}

// Bind reads a mapping of numbers to names and sorts it by number.
func (list *names) Bind(p *strict.Places, n *strict.Node, path string) *strict.Error {
	found := n.Found()
	if n.Kind == strict.Mapping {
		found = fmt.Sprintf("one of %d", len(n.Keys))
	}
	if n.Kind != strict.Mapping || len(n.Keys) == 0 || len(n.Keys) > namesMost {
		return p.Wrong(path, fmt.Sprintf("a mapping of 1 to %d numbers to names", namesMost), found)
	}
	*list = make(names, 0, len(n.Keys))
	for i, key := range n.Keys {
		inner := strict.Join(path, key.Text)
		p.Key(inner, key)
		k, ok := key.Integer()
		if !ok {
			return p.WrongAt(key, inner, "a whole number as the key", key.Found())
		}
		if slices.ContainsFunc(*list, func(other named) bool { return other.number == k }) {
			return p.WrongAt(key, inner, "each number once", fmt.Sprintf("%d a second time", k))
		}
		var name text
		if err := p.Bind(&name, n.Items[i], inner); err != nil {
			return err
		}
		*list = append(*list, named{k, name})
	}
	slices.SortFunc(*list, func(a, b named) int {
		if a.number < b.number {
			return -1
		}
		return 1
	})
	return nil
}

// Unbind is what Bind reads.
func (list names) Unbind() *strict.Node {
	if len(list) == 0 {
		return nil
	}
	n := &strict.Node{Kind: strict.Mapping}
	for _, item := range list {
		n.Keys = append(n.Keys, &strict.Node{Text: strconv.FormatInt(item.number, 10)})
		n.Items = append(n.Items, &strict.Node{Text: string(item.name), Quoted: true})
	}
	return n
}

// Bind reads two numbers.
func (pt *point) Bind(p *strict.Places, n *strict.Node, path string) *strict.Error {
	two := (*[]float64)(pt)
	if n.Kind == strict.Sequence && len(n.Items) != 2 {
		return p.Wrong(path, "2 values", fmt.Sprint(len(n.Items)))
	}
	return p.Bind(two, n, path)
}
