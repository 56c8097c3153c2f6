package linkfile

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// node is a value of a file: a scalar, a sequence (items) or a mapping (keys and items).
type node struct {
	kind      nodeKind
	text      string // of a scalar, without quotes
	quoted    bool
	keys      []*node
	items     []*node
	line, col int
}

type nodeKind uint8

const (
	scalar nodeKind = iota
	sequence
	mapping
)

// The core schema's scalars (YAML 1.2.2, clause 10.3.2).
var (
	decimalForm = regexp.MustCompile(`^[-+]?(0|[1-9][0-9]*)$`)
	padded      = regexp.MustCompile(`^[-+]?0[0-9]+$`)
	hexForm     = regexp.MustCompile(`^0x[0-9a-fA-F]+$`)
	octalForm   = regexp.MustCompile(`^0o[0-7]+$`)
	floatForm   = regexp.MustCompile(`^[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?$`)
	infNaN      = regexp.MustCompile(`^([-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN))$`)
)

func (n *node) isNull() bool {
	return n.kind == scalar && !n.quoted && (n.text == "" || n.text == "~" || strings.EqualFold(n.text, "null"))
}

func (n *node) isNumber() bool {
	return n.kind == scalar && !n.quoted && (floatForm.MatchString(n.text) || hexForm.MatchString(n.text) ||
		octalForm.MatchString(n.text) || infNaN.MatchString(n.text))
}

// truth is a boolean.
func (n *node) truth() (value, ok bool) {
	if n.kind != scalar || n.quoted {
		return false, false
	}
	switch n.text {
	case "true", "True", "TRUE":
		return true, true
	case "false", "False", "FALSE":
		return false, true
	}
	return false, false
}

// isText tells whether the core schema takes the scalar for text.
func (n *node) isText() bool {
	_, truth := n.truth()
	return n.kind == scalar && (n.quoted || !n.isNumber() && !n.isNull() && !truth)
}

// integer is a whole number of 64 bits.
func (n *node) integer() (int64, bool) {
	if n.kind != scalar || n.quoted {
		return 0, false
	}
	switch {
	case decimalForm.MatchString(n.text):
		v, err := strconv.ParseInt(n.text, 10, 64)
		return v, err == nil
	case hexForm.MatchString(n.text), octalForm.MatchString(n.text):
		v, err := strconv.ParseInt(n.text, 0, 64)
		return v, err == nil
	}
	return 0, false
}

// float is a finite number divided by ten to the power of down; that is exact where it moves the decimal point only.
func (n *node) float(down int) (float64, bool) {
	if v, ok := n.integer(); ok && hexForm.MatchString(n.text) {
		return float64(v) / math.Pow10(down), true
	}
	if n.kind != scalar || n.quoted || !floatForm.MatchString(n.text) || padded.MatchString(n.text) {
		return 0, false
	}
	digits, power := n.text, 0
	if i := strings.IndexAny(n.text, "eE"); i >= 0 {
		p, err := strconv.Atoi(n.text[i+1:])
		if err != nil || p > 1000 || p < -1000 {
			return 0, false
		}
		digits, power = n.text[:i], p
	}
	v, err := strconv.ParseFloat(digits+"e"+strconv.Itoa(power-down), 64)
	return v, err == nil
}

// found says what a value is, for an error.
func (n *node) found() string {
	_, truth := n.truth()
	switch {
	case n.kind == mapping:
		return "a mapping"
	case n.kind == sequence:
		return "a list"
	case n.isNull():
		return "nothing"
	case n.isNumber() || truth:
		if len(n.text) > 40 {
			return n.text[:40] + "..."
		}
		return n.text
	}
	return quote(n.text)
}
