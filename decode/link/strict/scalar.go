package strict

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Word is a string type with a rule of its own for what it takes: a method of its zero value. Where Bare is true it is
// written without quotes and may look like a number.
type Word interface {
	Takes(text string) (expected string, ok bool)
	Bare() bool
}

var word = reflect.TypeFor[Word]()

// Kinds of text.
type (
	Text  string // one line of printable text, 1 to 100 characters
	Label string // the same, 0 to 20
	Prose string // lines of text, 0 to 10,000 characters
)

// The most characters of text.
const (
	TextMost  = 100
	LabelMost = 20
	ProseMost = 10000
)

// Takes is a Word's.
func (Text) Takes(s string) (expected string, ok bool) {
	count := utf8.RuneCountInString(s)
	return fmt.Sprintf("text of 1 to %d printable characters", TextMost), count >= 1 && count <= TextMost && shown(s, false)
}

// Takes is a Word's.
func (Label) Takes(s string) (expected string, ok bool) {
	return fmt.Sprintf("text of at most %d printable characters", LabelMost), utf8.RuneCountInString(s) <= LabelMost && shown(s, false)
}

// Takes is a Word's.
func (Prose) Takes(s string) (expected string, ok bool) {
	return fmt.Sprintf("text of at most %d printable characters", ProseMost), utf8.RuneCountInString(s) <= ProseMost && shown(s, true)
}

// Bare is a Word's.
func (Text) Bare() bool { return false }

// Bare is a Word's.
func (Label) Bare() bool { return false }

// Bare is a Word's.
func (Prose) Bare() bool { return false }

// shown tells whether text can be shown as it is: no control or formatting characters, no blanks at its ends.
func shown(s string, lines bool) bool {
	for _, r := range s {
		if !unicode.IsPrint(r) && (!lines || r != '\n' && r != '\t') {
			return false
		}
	}
	return lines || strings.TrimSpace(s) == s
}

// bindScalar reads text, a number or a boolean.
func (p *Places) bindScalar(v reflect.Value, n *Node, path string, l limits) *Error {
	switch v.Kind() {
	case reflect.Bool:
		value, ok := n.truth()
		if !ok {
			return p.Wrong(path, "true or false", n.Found())
		}
		v.SetBool(value)
	case reflect.Int:
		value, ok := n.Integer()
		if !ok || l.bounded && (float64(value) < l.least || float64(value) > l.most) {
			return p.Wrong(path, l.numbers("a whole number"), n.Found())
		}
		v.SetInt(value)
	case reflect.Float64:
		plain, ok := n.Float(0)
		if !ok || l.bounded && (plain < l.least || plain > l.most) {
			return p.Wrong(path, l.numbers("a finite number"), n.Found())
		}
		value, _ := n.Float(l.down)
		v.SetFloat(value + 0) // no -0
	default:
		return p.bindText(v, n, path, l)
	}
	return nil
}

// numbers says which numbers are allowed.
func (l limits) numbers(any string) string {
	if !l.bounded {
		return any
	}
	return Number(l.least) + " to " + Number(l.most)
}

func (p *Places) bindText(v reflect.Value, n *Node, path string, l limits) *Error {
	if l.enum != nil {
		if n.Kind != Scalar || !slices.Contains(l.enum, n.Text) {
			return p.Wrong(path, Choice(l.enum), n.Found())
		}
		v.SetString(n.Text)
		return nil
	}
	if !v.Type().Implements(word) {
		panic("strict: " + path + " is text without an enum or a rule") // our own struct
	}
	w := v.Interface().(Word)
	expected, ok := w.Takes(n.Text)
	switch {
	case w.Bare():
		ok = ok && n.Kind == Scalar
	default:
		ok = ok && n.IsText()
		if n.IsNumber() {
			expected += " (in quotes, where they look like a number)"
		}
	}
	if !ok {
		return p.Wrong(path, expected, n.Found())
	}
	v.SetString(n.Text)
	return nil
}

// Choice lists words for an error.
func Choice(words []string) string {
	shownWords := slices.Clone(words)
	for i, w := range shownWords {
		if w == "" {
			shownWords[i] = `""`
		}
	}
	last := len(shownWords) - 1
	if last == 0 {
		return shownWords[0]
	}
	return strings.Join(shownWords[:last], ", ") + " or " + shownWords[last]
}
