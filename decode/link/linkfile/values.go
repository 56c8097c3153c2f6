package linkfile

import (
	"encoding/hex"
	"strings"
	"unicode"
)

// Kinds of scalars besides Go's own.
type (
	text    string  // one line of printable text, 1 to 100 characters
	label   string  // the same, 0 to 20
	prose   string  // lines of text, 0 to 10,000 characters
	format  string  // a character format; 8E1 is taken though it looks like a number
	hexText string  // hexadecimal digits, blanks between pairs
	millis  float64 // seconds here, milliseconds in the file
	named   struct {
		number int64
		name   text
	}
	names []named   // number: name, rising
	point []float64 // degC, ohm
)

const (
	textMost  = 100
	labelMost = 20
	proseMost = 10000
	hexMost   = 2 * 4096
	namesMost = 1024
)

// shown tells whether text can be shown as it is: no control or formatting characters, no blanks at its ends.
func shown(s string, lines bool) bool {
	for _, r := range s {
		if !unicode.IsPrint(r) && (!lines || r != '\n' && r != '\t') {
			return false
		}
	}
	return lines || strings.TrimSpace(s) == s
}

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
