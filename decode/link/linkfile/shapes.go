package linkfile

import (
	"fmt"

	"linewitness/decode/link"
	"linewitness/decode/link/strict"
)

func (b *builder) shapes() *strict.Error {
	seen := map[text]bool{}
	for i := range b.doc.Frames {
		f := &b.doc.Frames[i]
		path := fmt.Sprintf("frames[%d]", i)
		if seen[f.Name] {
			return b.Wrong(path+".name", "each name once", strict.Quote(string(f.Name))+" a second time")
		}
		seen[f.Name] = true
		shape, err := b.shape(f, path)
		if err != nil {
			return err
		}
		b.p.Shapes = append(b.p.Shapes, shape)
	}
	for i := range b.doc.Frames {
		answers := map[text]bool{}
		for k, name := range b.doc.Frames[i].AnsweredBy {
			path := fmt.Sprintf("frames[%d].answered_by[%d]", i, k)
			if !seen[name] {
				return b.Wrong(path, "the name of a kind of frame", strict.Quote(string(name)))
			}
			if answers[name] {
				return b.Wrong(path, "each name once", strict.Quote(string(name))+" a second time")
			}
			answers[name] = true
		}
	}
	return nil
}

func (b *builder) shape(f *framePart, path string) (s link.Shape, err *strict.Error) {
	length := b.octets()
	if f.Length > 0 && length > 0 && f.Length != length {
		return s, b.Wrong(path+".length", fmt.Sprintf("%d, as every frame has", length), fmt.Sprint(f.Length))
	}
	if f.Length > 0 {
		length = f.Length
	}
	s = link.Shape{Name: string(f.Name), From: sides[f.From], Length: f.Length, Start: f.AfterStart}
	for _, a := range f.AnsweredBy {
		s.Answers = append(s.Answers, string(a))
	}
	s.Constant, _ = f.Template.octets()
	if length > 0 && len(s.Constant) > length {
		return s, b.Wrong(path+".template", fmt.Sprintf("at most %d octets", length), fmt.Sprint(len(s.Constant)))
	}
	for i, m := range f.Match {
		match, err := b.match(m, fmt.Sprintf("%s.match[%d]", path, i), length, s.Constant)
		if err != nil {
			return s, err
		}
		s.Match = append(s.Match, match)
	}
	seen := map[text]bool{}
	for i := range f.Fields {
		part, path := &f.Fields[i], fmt.Sprintf("%s.fields[%d]", path, i)
		if seen[part.Name] {
			return s, b.Wrong(path+".name", "each name once", strict.Quote(string(part.Name))+" a second time")
		}
		seen[part.Name] = true
		field, err := b.field(part, path, length)
		if err != nil {
			return s, err
		}
		s.Fields = append(s.Fields, field)
	}
	return s, nil
}

func (b *builder) match(m matchPart, path string, length int, template []byte) (link.Match, *strict.Error) {
	out := link.Match{At: m.At, Mask: byte(m.Mask), Value: byte(m.Is)}
	switch {
	case !inside(m.At, 1, length):
		return out, b.Wrong(path+".at", fmt.Sprintf("a place in a frame of %d octets", length), fmt.Sprint(m.At))
	case out.Value&^out.Mask != 0:
		return out, b.Wrong(path+".is", fmt.Sprintf("no bit outside the mask 0x%02X", m.Mask), fmt.Sprintf("0x%02X", m.Is))
	case m.At >= 0 && m.At < len(template) && template[m.At]&out.Mask != out.Value:
		return out, b.Wrong(path+".is", fmt.Sprintf("what the template has there, 0x%02X", template[m.At]), fmt.Sprintf("0x%02X", m.Is))
	}
	return out, nil
}
