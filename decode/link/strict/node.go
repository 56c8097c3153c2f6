package strict

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// Node is a value of a file: a scalar, a sequence (Items) or a mapping (Keys and Items).
type Node struct {
	Kind         NodeKind
	Text         string // of a scalar, without quotes
	Quoted       bool
	Keys         []*Node
	Items        []*Node
	Line, Column int // from 1; 0: in no file
}

// NodeKind is what a node is.
type NodeKind uint8

// The kinds.
const (
	Scalar NodeKind = iota
	Sequence
	Mapping
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

func (n *Node) isNull() bool {
	return n.Kind == Scalar && !n.Quoted && (n.Text == "" || n.Text == "~" || strings.EqualFold(n.Text, "null"))
}

func (n *Node) IsNumber() bool {
	return n.Kind == Scalar && !n.Quoted && (floatForm.MatchString(n.Text) || hexForm.MatchString(n.Text) ||
		octalForm.MatchString(n.Text) || infNaN.MatchString(n.Text))
}

// truth is a boolean.
func (n *Node) truth() (value, ok bool) {
	if n.Kind != Scalar || n.Quoted {
		return false, false
	}
	switch n.Text {
	case "true", "True", "TRUE":
		return true, true
	case "false", "False", "FALSE":
		return false, true
	}
	return false, false
}

// IsText tells whether the core schema takes the scalar for text.
func (n *Node) IsText() bool {
	_, truth := n.truth()
	return n.Kind == Scalar && (n.Quoted || !n.IsNumber() && !n.isNull() && !truth)
}

// Integer is a whole number of 64 bits.
func (n *Node) Integer() (int64, bool) {
	if n.Kind != Scalar || n.Quoted {
		return 0, false
	}
	switch {
	case decimalForm.MatchString(n.Text):
		v, err := strconv.ParseInt(n.Text, 10, 64)
		return v, err == nil
	case hexForm.MatchString(n.Text), octalForm.MatchString(n.Text):
		v, err := strconv.ParseInt(n.Text, 0, 64)
		return v, err == nil
	}
	return 0, false
}

// Float is a finite number divided by ten to the power of down; that is exact where it moves the decimal point only.
func (n *Node) Float(down int) (float64, bool) {
	if v, ok := n.Integer(); ok && hexForm.MatchString(n.Text) {
		return float64(v) / math.Pow10(down), true
	}
	if n.Kind != Scalar || n.Quoted || !floatForm.MatchString(n.Text) || padded.MatchString(n.Text) {
		return 0, false
	}
	digits, power := n.Text, 0
	if i := strings.IndexAny(n.Text, "eE"); i >= 0 {
		p, err := strconv.Atoi(n.Text[i+1:])
		if err != nil || p > 1000 || p < -1000 {
			return 0, false
		}
		digits, power = n.Text[:i], p
	}
	v, err := strconv.ParseFloat(digits+"e"+strconv.Itoa(power-down), 64)
	return v, err == nil
}

// Found says what a value is, for an error.
func (n *Node) Found() string {
	_, truth := n.truth()
	switch {
	case n.Kind == Mapping:
		return "a mapping"
	case n.Kind == Sequence:
		return "a list"
	case n.isNull():
		return "nothing"
	case n.IsNumber() || truth:
		if len(n.Text) > 40 {
			return n.Text[:40] + "..."
		}
		return n.Text
	}
	return Quote(n.Text)
}
