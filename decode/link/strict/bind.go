package strict

import (
	"fmt"
	"reflect"
	"strings"
)

// Places are where a file's values and keys stand, by their paths, such as frames[2].fields[0].bits.
type Places struct {
	name, src    string
	values, keys map[string]*Node
}

// Binder reads a value in a way of its own, at a pointer to it. Its errors are Places.Wrong or Places.WrongAt.
type Binder interface {
	Bind(p *Places, n *Node, path string) *Error
}

var binder = reflect.TypeFor[Binder]()

// Has tells whether the file has a value at path.
func (p *Places) Has(path string) bool { return p.values[path] != nil }

// Value is the value at path; nil: there is none.
func (p *Places) Value(path string) *Node { return p.values[path] }

// Wrong is an error at path, or where there is nothing, at what it would stand in.
func (p *Places) Wrong(path, expected, found string) *Error {
	for at := path; ; {
		if n := p.values[at]; n != nil {
			return p.WrongAt(n, path, expected, found)
		}
		if at == "" {
			return p.WrongAt(&Node{Line: 1, Column: 1}, path, expected, found)
		}
		at = at[:max(0, strings.LastIndexAny(at, ".["))]
	}
}

// WrongKey is an error at the key of path, which the file has.
func (p *Places) WrongKey(path, expected, found string) *Error {
	return p.WrongAt(p.keys[path], path, expected, found)
}

// WrongAt is an error at a node of the file.
func (p *Places) WrongAt(n *Node, path, expected, found string) *Error {
	return p.located(&Error{Line: n.Line, Column: n.Column, Path: path, Expected: expected, Found: found})
}

func (p *Places) located(e *Error) *Error {
	e.Name, e.Source = p.name, lineOf(p.src, e.Line)
	return e
}

// Bind reads the value v points to from n, which stands at path: for a Binder, of what stands in it.
func (p *Places) Bind(v any, n *Node, path string) *Error {
	return p.bind(reflect.ValueOf(v).Elem(), n, path, limits{})
}

// bind fills v from n, checks each value by its tags, and notes where it stands.
func (p *Places) bind(v reflect.Value, n *Node, path string, l limits) *Error {
	p.values[path] = n
	if v.Addr().Type().Implements(binder) {
		return v.Addr().Interface().(Binder).Bind(p, n, path)
	}
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
		return p.bindList(v, n, path, l)
	}
	return p.bindScalar(v, n, path, l)
}

func (p *Places) bindStruct(v reflect.Value, n *Node, path string) *Error {
	if n.Kind != Mapping {
		return p.Wrong(path, "a mapping with the keys "+strings.Join(keysOf(v.Type()), ", "), n.Found())
	}
	for i, key := range n.Keys {
		f, ok := fieldOf(v.Type(), key.Text)
		inner := Join(path, key.Text)
		p.Key(inner, key)
		if !ok {
			return p.WrongAt(key, inner, "one of the keys "+strings.Join(keysOf(v.Type()), ", "), Quote(key.Text))
		}
		if err := p.bind(v.FieldByIndex(f.Index), n.Items[i], inner, limitsOf(f)); err != nil {
			return err
		}
	}
	for i := range v.NumField() {
		if l := limitsOf(v.Type().Field(i)); l.required && !p.Has(Join(path, l.key)) {
			return p.Wrong(path, "the key "+l.key, "none")
		}
	}
	return nil
}

// Key notes where the key of path stands: for a Binder of a mapping.
func (p *Places) Key(path string, key *Node) { p.keys[path] = key }

func (p *Places) bindList(v reflect.Value, n *Node, path string, l limits) *Error {
	if n.Kind != Sequence {
		return p.Wrong(path, "a list", n.Found())
	}
	least, most := l.items[0], l.items[1]
	if most > 0 && (len(n.Items) < least || len(n.Items) > most) {
		expected := fmt.Sprintf("%d to %d values", least, most)
		if least == most {
			expected = fmt.Sprintf("%d values", most)
		}
		return p.Wrong(path, expected, fmt.Sprint(len(n.Items)))
	}
	v.Set(reflect.MakeSlice(v.Type(), len(n.Items), len(n.Items)))
	for i, item := range n.Items {
		if v.Index(i).Kind() == reflect.Struct {
			setDefaults(v.Index(i))
		}
		inner := limits{least: l.least, most: l.most, bounded: l.bounded, down: l.down}
		if err := p.bind(v.Index(i), item, fmt.Sprintf("%s[%d]", path, i), inner); err != nil {
			return err
		}
	}
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
			f.SetFloat(l.standardFloat())
		default:
			f.SetInt(int64(mustFloat(l.standard)))
		}
	}
}
