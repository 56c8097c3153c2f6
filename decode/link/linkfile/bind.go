package linkfile

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
)

// places are where values and keys stand, by path.
type places struct{ values, keys map[string]*node }

// has tells whether the file has a value at path.
func (p *places) has(path string) bool { return p.values[path] != nil }

// wrong is an error at path, or where there is nothing, at what it would stand in.
func (p *places) wrong(path, expected, found string) *Error {
	for at := path; ; {
		if n := p.values[at]; n != nil {
			return &Error{Line: n.line, Column: n.col, Path: path, Expected: expected, Found: found}
		}
		if at == "" {
			return &Error{Line: 1, Column: 1, Path: path, Expected: expected, Found: found}
		}
		at = at[:max(0, strings.LastIndexAny(at, ".["))]
	}
}

// bind fills v from n, checks each value by its tags, and notes where it stands.
func (p *places) bind(v reflect.Value, n *node, path string, l limits) *Error {
	p.values[path] = n
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		if v.Elem().Kind() == reflect.Struct {
			setDefaults(v.Elem())
		}
		return p.bind(v.Elem(), n, path, l)
	case reflect.Struct:
		return p.bindStruct(v, n, path)
	case reflect.Slice:
		if v.Type() == reflect.TypeFor[names]() {
			return p.bindNames(v, n, path)
		}
		return p.bindList(v, n, path, l)
	}
	return p.bindScalar(v, n, path, l)
}

func (p *places) bindStruct(v reflect.Value, n *node, path string) *Error {
	if n.kind != mapping {
		return p.wrong(path, "a mapping with the keys "+strings.Join(keysOf(v.Type()), ", "), n.found())
	}
	for i, key := range n.keys {
		f, ok := fieldOf(v.Type(), key.text)
		inner := join(path, key.text)
		p.keys[inner] = key
		if !ok {
			return &Error{Line: key.line, Column: key.col, Path: inner,
				Expected: "one of the keys " + strings.Join(keysOf(v.Type()), ", "), Found: quote(key.text)}
		}
		if err := p.bind(v.FieldByIndex(f.Index), n.items[i], inner, limitsOf(f)); err != nil {
			return err
		}
	}
	for i := range v.NumField() {
		if l := limitsOf(v.Type().Field(i)); l.required && !p.has(join(path, l.key)) {
			return p.wrong(path, "the key "+l.key, "none")
		}
	}
	return nil
}

func (p *places) bindList(v reflect.Value, n *node, path string, l limits) *Error {
	if n.kind != sequence {
		return p.wrong(path, "a list", n.found())
	}
	least, most := l.items[0], l.items[1]
	if v.Type() == reflect.TypeFor[point]() {
		least, most = 2, 2
	}
	if most > 0 && (len(n.items) < least || len(n.items) > most) {
		expected := fmt.Sprintf("%d to %d values", least, most)
		if least == most {
			expected = fmt.Sprintf("%d values", most)
		}
		return p.wrong(path, expected, fmt.Sprint(len(n.items)))
	}
	v.Set(reflect.MakeSlice(v.Type(), len(n.items), len(n.items)))
	for i, item := range n.items {
		if v.Index(i).Kind() == reflect.Struct {
			setDefaults(v.Index(i))
		}
		if err := p.bind(v.Index(i), item, fmt.Sprintf("%s[%d]", path, i), limits{least: l.least, most: l.most, bounded: l.bounded}); err != nil {
			return err
		}
	}
	return nil
}

// bindNames reads a mapping of numbers to names and sorts it by number.
func (p *places) bindNames(v reflect.Value, n *node, path string) *Error {
	found := n.found()
	if n.kind == mapping {
		found = fmt.Sprintf("one of %d", len(n.keys))
	}
	if n.kind != mapping || len(n.keys) == 0 || len(n.keys) > namesMost {
		return p.wrong(path, fmt.Sprintf("a mapping of 1 to %d numbers to names", namesMost), found)
	}
	list := make(names, 0, len(n.keys))
	for i, key := range n.keys {
		inner := join(path, key.text)
		p.keys[inner] = key
		k, ok := key.integer()
		if !ok {
			return &Error{Line: key.line, Column: key.col, Path: inner, Expected: "a whole number as the key", Found: key.found()}
		}
		if slices.ContainsFunc(list, func(other named) bool { return other.number == k }) {
			return &Error{Line: key.line, Column: key.col, Path: inner, Expected: "each number once", Found: fmt.Sprintf("%d a second time", k)}
		}
		var name text
		if err := p.bind(reflect.ValueOf(&name).Elem(), n.items[i], inner, limits{}); err != nil {
			return err
		}
		list = append(list, named{k, name})
	}
	slices.SortFunc(list, func(a, b named) int {
		if a.number < b.number {
			return -1
		}
		return 1
	})
	v.Set(reflect.ValueOf(list))
	return nil
}

func keysOf(t reflect.Type) (keys []string) {
	for i := range t.NumField() {
		keys = append(keys, t.Field(i).Tag.Get("json"))
	}
	return keys
}

func fieldOf(t reflect.Type, key string) (reflect.StructField, bool) {
	for i := range t.NumField() {
		if t.Field(i).Tag.Get("json") == key {
			return t.Field(i), true
		}
	}
	return reflect.StructField{}, false
}

// setDefaults gives a struct, and structs in it, what its tags say stands for absent keys.
func setDefaults(v reflect.Value) {
	for i := range v.NumField() {
		f := v.Field(i)
		if f.Kind() == reflect.Struct {
			setDefaults(f)
			continue
		}
		l := limitsOf(v.Type().Field(i))
		switch {
		case !l.hasStandard:
		case f.Kind() == reflect.String:
			f.SetString(l.standard)
		case f.Kind() == reflect.Float64:
			f.SetFloat(mustFloat(l.standard))
		default:
			f.SetInt(int64(mustFloat(l.standard)))
		}
	}
}
