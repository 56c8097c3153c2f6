package linkfile

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode/utf8"

	"linewitness/decode/uart"
)

// bindScalar reads text, a number or a boolean.
func (p *places) bindScalar(v reflect.Value, n *node, path string, l limits) *Error {
	switch v.Kind() {
	case reflect.Bool:
		value, ok := n.truth()
		if !ok {
			return p.wrong(path, "true or false", n.found())
		}
		v.SetBool(value)
	case reflect.Int:
		value, ok := n.integer()
		if !ok || l.bounded && (float64(value) < l.least || float64(value) > l.most) {
			return p.wrong(path, l.numbers("a whole number"), n.found())
		}
		v.SetInt(value)
	case reflect.Float64:
		down := 0
		if v.Type() == reflect.TypeFor[millis]() {
			down = 3
		}
		plain, ok := n.float(0)
		if !ok || l.bounded && (plain < l.least || plain > l.most) {
			return p.wrong(path, l.numbers("a finite number"), n.found())
		}
		value, _ := n.float(down)
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
	return number(l.least) + " to " + number(l.most)
}

func (p *places) bindText(v reflect.Value, n *node, path string, l limits) *Error {
	if l.enum != nil {
		if n.kind != scalar || !slices.Contains(l.enum, n.text) {
			return p.wrong(path, choice(l.enum), n.found())
		}
		v.SetString(n.text)
		return nil
	}
	if v.Type() == reflect.TypeFor[format]() {
		if _, err := uart.ParseFormat(n.text); n.kind != scalar || err != nil {
			return p.wrong(path, "data bits 5..9, parity N E O M or S, stop bits 1, 1.5 or 2 (such as 8E1)", n.found())
		}
		v.SetString(n.text)
		return nil
	}
	expected, ok := p.textRule(v.Type(), n)
	if !ok {
		return p.wrong(path, expected, n.found())
	}
	v.SetString(n.text)
	return nil
}

// textRule judges text by its type.
func (p *places) textRule(t reflect.Type, n *node) (expected string, ok bool) {
	count := utf8.RuneCountInString(n.text)
	if !n.isText() {
		count = -1
	}
	switch t {
	case reflect.TypeFor[text]():
		expected, ok = fmt.Sprintf("text of 1 to %d printable characters", textMost), count >= 1 && count <= textMost && shown(n.text, false)
	case reflect.TypeFor[label]():
		expected, ok = fmt.Sprintf("text of at most %d printable characters", labelMost), count >= 0 && count <= labelMost && shown(n.text, false)
	case reflect.TypeFor[prose]():
		expected, ok = fmt.Sprintf("text of at most %d printable characters", proseMost), count >= 0 && count <= proseMost && shown(n.text, true)
	case reflect.TypeFor[hexText]():
		_, ok = hexText(n.text).octets()
		expected, ok = "pairs of hexadecimal digits", ok && count >= 0
	}
	if n.isNumber() {
		expected += " (in quotes, where they look like a number)"
	}
	return expected, ok
}

// choice lists words for an error.
func choice(words []string) string {
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
