package strict

import "reflect"

// Read reads a file into doc, a pointer to a struct with tags as in the package comment. name stands in errors, what is
// what the file should be, such as "a link profile". A byte-order mark before it is skipped.
func Read(name string, data []byte, what string, doc any) (*Places, *Error) {
	src := string(data)
	if len(src) >= len(byteOrderMark) && src[:len(byteOrderMark)] == byteOrderMark {
		src = src[len(byteOrderMark):]
	}
	p := &Places{name: name, src: src, values: map[string]*Node{}, keys: map[string]*Node{}}
	root, err := parse(src, what)
	if err != nil {
		return nil, p.located(err)
	}
	v := reflect.ValueOf(doc).Elem()
	setDefaults(v)
	if err := p.bind(v, root, "", limits{}); err != nil {
		return nil, err
	}
	return p, nil
}

// Write lays out a document so that Read gives it back: absent is what stands for an absent key. It checks nothing.
func Write(doc any) []byte {
	n := unbind(reflect.ValueOf(doc), limits{})
	if n == nil {
		n = &Node{Kind: Mapping}
	}
	return render(n)
}

// SetDefaults gives doc, a pointer to a struct, what its tags say stands for absent keys.
func SetDefaults(doc any) { setDefaults(reflect.ValueOf(doc).Elem()) }
