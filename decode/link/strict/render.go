package strict

import (
	"bytes"
	"fmt"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"unicode"
)

// Unbinder gives the value that its Binder reads; nil: the key is absent.
type Unbinder interface{ Unbind() *Node }

// unbind makes nodes of a document; nil: v is what an absent key stands for.
func unbind(v reflect.Value, l limits) *Node {
	if u, ok := v.Interface().(Unbinder); ok && v.Kind() != reflect.Pointer {
		return u.Unbind()
	}
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return nil
		}
		l.required = true
		if n := unbind(v.Elem(), l); n != nil {
			return n
		}
		return &Node{Kind: Mapping}
	case reflect.Struct:
		n := &Node{Kind: Mapping}
		for i := range v.NumField() {
			l := limitsOf(v.Type().Field(i))
			if item := unbind(v.Field(i), l); item != nil {
				n.Keys, n.Items = append(n.Keys, &Node{Text: l.key}), append(n.Items, item)
			}
		}
		if len(n.Keys) == 0 {
			return nil
		}
		return n
	case reflect.Slice:
		return unbindList(v, l)
	}
	return unbindScalar(v, l)
}

func unbindList(v reflect.Value, l limits) *Node {
	if v.Len() == 0 {
		return nil
	}
	n := &Node{Kind: Sequence}
	for i := range v.Len() {
		item := unbind(v.Index(i), limits{required: true, down: l.down})
		if item == nil {
			item = &Node{Kind: Mapping}
		}
		n.Items = append(n.Items, item)
	}
	return n
}

// unbindScalar leaves out what is the default, or zero where there is none. Text is marked as quoted.
func unbindScalar(v reflect.Value, l limits) *Node {
	n := &Node{}
	switch v.Kind() {
	case reflect.Bool:
		n.Text = strconv.FormatBool(v.Bool())
	case reflect.Int:
		n.Text = strconv.FormatInt(v.Int(), 10)
		if l.hex && v.Int() >= 0 {
			n.Text = fmt.Sprintf("0x%02X", v.Int())
		}
		if l.hasStandard && v.Int() == int64(mustFloat(l.standard)) && !l.required {
			return nil
		}
	case reflect.Float64:
		n.Text = decimal(v.Float(), l.down)
		if l.hasStandard && v.Float() == l.standardFloat() && !l.required {
			return nil
		}
	default:
		w, ok := v.Interface().(Word)
		n.Text, n.Quoted = v.String(), !ok || !w.Bare()
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

// lineWidth is up to where a Mapping or a list stands in one line.
const lineWidth = 130

// render lays a document out: what fits stands in one line, the rest in blocks.
func render(n *Node) []byte {
	var out bytes.Buffer
	block(&out, n, 0)
	return out.Bytes()
}

// block writes a Mapping or a list with a line for each entry.
func block(out *bytes.Buffer, n *Node, indent int) {
	for i, item := range n.Items {
		head := "- "
		if n.Kind == Mapping {
			head = n.Keys[i].Text + ": "
		}
		line := strings.Repeat(" ", indent) + head
		whole := flow(item)
		long := len(line)+len(whole) > lineWidth || ofNames(item)
		switch {
		case item.Kind == Scalar || !long || len(item.Items) == 0:
			out.WriteString(line + whole + "\n")
		case n.Kind == Mapping:
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

// ofNames tells whether a list has mappings that begin with a name, or with a cause: they stand in a line each.
func ofNames(n *Node) bool {
	if n.Kind != Sequence || len(n.Items) == 0 || n.Items[0].Kind != Mapping || len(n.Items[0].Keys) == 0 {
		return false
	}
	first := n.Items[0].Keys[0].Text
	return first == "name" || first == "cause"
}

// flow writes a Node in one line.
func flow(n *Node) string {
	switch n.Kind {
	case Scalar:
		if n.Quoted {
			return textOf(n.Text)
		}
		return n.Text
	case Sequence:
		items := make([]string, len(n.Items))
		for i, item := range n.Items {
			items[i] = flow(item)
		}
		return "[" + strings.Join(items, ", ") + "]"
	}
	items := make([]string, len(n.Items))
	for i, item := range n.Items {
		items[i] = n.Keys[i].Text + ": " + flow(item)
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
