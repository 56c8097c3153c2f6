package linkfile

import (
	"bytes"
	"fmt"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"unicode"
)

// unbind makes nodes of a document; nil: v is what an absent key stands for.
func unbind(v reflect.Value, l limits) *node {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return nil
		}
		l.required = true
		if n := unbind(v.Elem(), l); n != nil {
			return n
		}
		return &node{kind: mapping}
	case reflect.Struct:
		n := &node{kind: mapping}
		for i := range v.NumField() {
			l := limitsOf(v.Type().Field(i))
			if item := unbind(v.Field(i), l); item != nil {
				n.keys, n.items = append(n.keys, &node{text: l.key}), append(n.items, item)
			}
		}
		if len(n.keys) == 0 {
			return nil
		}
		return n
	case reflect.Slice:
		return unbindList(v, l)
	}
	return unbindScalar(v, l)
}

func unbindList(v reflect.Value, l limits) *node {
	if v.Len() == 0 {
		return nil
	}
	if list, ok := v.Interface().(names); ok {
		n := &node{kind: mapping}
		for _, item := range list {
			n.keys = append(n.keys, &node{text: strconv.FormatInt(item.number, 10)})
			n.items = append(n.items, &node{text: string(item.name), quoted: true})
		}
		return n
	}
	n := &node{kind: sequence}
	for i := range v.Len() {
		n.items = append(n.items, unbind(v.Index(i), limits{required: true}))
	}
	return n
}

// unbindScalar leaves out what is the default, or zero where there is none. Text is marked as quoted.
func unbindScalar(v reflect.Value, l limits) *node {
	n := &node{}
	switch v.Kind() {
	case reflect.Bool:
		n.text = strconv.FormatBool(v.Bool())
	case reflect.Int:
		n.text = strconv.FormatInt(v.Int(), 10)
		if l.hex && v.Int() >= 0 {
			n.text = fmt.Sprintf("0x%02X", v.Int())
		}
		if l.hasStandard && v.Int() == int64(mustFloat(l.standard)) && !l.required {
			return nil
		}
	case reflect.Float64:
		n.text = decimal(v.Float(), 0)
		if v.Type() == reflect.TypeFor[millis]() {
			n.text = decimal(v.Float(), 3)
		}
		if l.hasStandard && v.Float() == mustFloat(l.standard) && !l.required {
			return nil
		}
	default:
		n.text, n.quoted = v.String(), v.Type() != reflect.TypeFor[format]()
		if l.hasStandard && v.String() == l.standard && !l.required {
			return nil
		}
	}
	if v.IsZero() && !l.hasStandard && !l.required {
		return nil
	}
	return n
}

// decimal writes v times ten to the power of up, exactly.
func decimal(v float64, up int) string {
	if v == 0 {
		return "0"
	}
	mantissa, exponent, ok := strings.Cut(strconv.FormatFloat(v, 'e', -1, 64), "e")
	power, _ := strconv.Atoi(exponent)
	power += up
	if !ok || power < -6 || power > 15 {
		if !strings.Contains(mantissa, ".") {
			mantissa += ".0" // some readers of YAML take 1e30 for text
		}
		return fmt.Sprintf("%se%+d", mantissa, power)
	}
	sign := ""
	if mantissa[0] == '-' {
		sign, mantissa = "-", mantissa[1:]
	}
	digits := strings.Replace(mantissa, ".", "", 1)
	if power < 0 {
		digits, power = strings.Repeat("0", -power)+digits, 0
	}
	if short := power + 1 - len(digits); short > 0 {
		digits += strings.Repeat("0", short)
	}
	if power+1 < len(digits) {
		return sign + digits[:power+1] + "." + digits[power+1:]
	}
	return sign + digits
}

// lineWidth is up to where a mapping or a list stands in one line.
const lineWidth = 130

// render lays a document out: what fits stands in one line, the rest in blocks.
func render(n *node) []byte {
	var out bytes.Buffer
	block(&out, n, 0)
	return out.Bytes()
}

// block writes a mapping or a list with a line for each entry.
func block(out *bytes.Buffer, n *node, indent int) {
	for i, item := range n.items {
		head := "- "
		if n.kind == mapping {
			head = n.keys[i].text + ": "
		}
		line := strings.Repeat(" ", indent) + head
		whole := flow(item)
		long := len(line)+len(whole) > lineWidth || ofNames(item)
		switch {
		case item.kind == scalar || !long || len(item.items) == 0:
			out.WriteString(line + whole + "\n")
		case n.kind == mapping:
			out.WriteString(strings.TrimRight(line, " ") + "\n")
			block(out, item, indent+2)
		default:
			var inner bytes.Buffer
			block(&inner, item, indent+2)
			out.WriteString(line)
			out.Write(inner.Bytes()[indent+2:])
		}
	}
}

// ofNames tells whether a list has frames or fields, which stand in a line each.
func ofNames(n *node) bool {
	return n.kind == sequence && len(n.items) > 0 && n.items[0].kind == mapping && n.items[0].keys[0].text == "name"
}

// flow writes a node in one line.
func flow(n *node) string {
	switch n.kind {
	case scalar:
		if n.quoted {
			return textOf(n.text)
		}
		return n.text
	case sequence:
		items := make([]string, len(n.items))
		for i, item := range n.items {
			items[i] = flow(item)
		}
		return "[" + strings.Join(items, ", ") + "]"
	}
	items := make([]string, len(n.items))
	for i, item := range n.items {
		items[i] = n.keys[i].text + ": " + flow(item)
	}
	return "{" + strings.Join(items, ", ") + "}"
}

// plain is text that needs no quotes wherever it stands, but for reserved words.
var (
	plain    = regexp.MustCompile(`^[A-Za-z]([A-Za-z0-9 ./_-]*[A-Za-z0-9])?$`)
	reserved = regexp.MustCompile(`(?i)^(true|false|null|yes|no|y|n|inf|nan)$`)
)

// textOf writes text, in double quotes where it could be taken for something else.
func textOf(s string) string {
	if plain.MatchString(s) && !reserved.MatchString(s) {
		return s
	}
	var out strings.Builder
	out.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			out.WriteByte('\\')
			out.WriteRune(r)
		case r == '\n':
			out.WriteString(`\n`)
		case r == '\t':
			out.WriteString(`\t`)
		case unicode.IsPrint(r):
			out.WriteRune(r)
		default:
			fmt.Fprintf(&out, `\U%08X`, r)
		}
	}
	out.WriteByte('"')
	return out.String()
}
