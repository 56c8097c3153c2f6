package strict_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"linewitness/decode/link/strict"
)

// box has one field of each kind that a document can have.
type box struct {
	Name  strict.Text  `json:"name" jsonschema:"required"`
	Kind  string       `json:"kind" jsonschema:"enum=big,enum=small,default=big"`
	Label strict.Label `json:"label"`
	Note  strict.Prose `json:"note"`
	On    bool         `json:"on"`
	Count int          `json:"count" jsonschema:"minimum=0,maximum=255,default=7" file:"hex"`
	Gap   float64      `json:"gap_ms" jsonschema:"minimum=0,maximum=1000,default=5" file:"milli"`
	Farad *float64     `json:"nf" jsonschema:"minimum=0,maximum=1000000" file:"nano"`
	Share []float64    `json:"percent" jsonschema:"minItems=1,maxItems=3,minimum=0,maximum=100" file:"percent"`
	Parts []part       `json:"parts" jsonschema:"maxItems=4"`
	One   *part        `json:"one"`
	Even  even         `json:"even"`
	Pairs pairs        `json:"pairs"`
}

type part struct {
	Name strict.Text `json:"name"`
	Size int         `json:"size" jsonschema:"minimum=1,maximum=9,default=2"`
}

// even is a word of an even number of letters, which may look like a number.
type even string

func (even) Takes(s string) (string, bool) { return "an even number of letters", len(s)%2 == 0 }
func (even) Bare() bool                    { return true }

// pairs binds a mapping in a way of its own.
type pairs []string

func (p *pairs) Bind(at *strict.Places, n *strict.Node, path string) *strict.Error {
	if n.Kind != strict.Mapping {
		return at.Wrong(path, "pairs", n.Found())
	}
	for i, key := range n.Keys {
		inner := strict.Join(path, key.Text)
		at.Key(inner, key)
		var v int
		if err := at.Bind(&v, n.Items[i], inner); err != nil {
			return err
		}
		*p = append(*p, fmt.Sprintf("%s=%d", key.Text, v))
	}
	return nil
}

func (p pairs) Unbind() *strict.Node {
	if len(p) == 0 {
		return nil
	}
	n := &strict.Node{Kind: strict.Mapping}
	for _, word := range p {
		key, value, _ := strings.Cut(word, "=")
		n.Keys, n.Items = append(n.Keys, &strict.Node{Text: key}), append(n.Items, &strict.Node{Text: value})
	}
	return n
}

func TestReadsEveryKind(t *testing.T) {
	const file = "\uFEFF# a box\nname: a box\nkind: small\nlabel: \"12\"\nnote: |\n  one\n  two\non: true\ncount: 0x10\ngap_ms: 0.3\nnf: 4.7\n" +
		"percent: [10, 2.5]\nparts:\n  - {name: a}\n  - name: b\n    size: 9\none: {}\neven: 8000\npairs: {b: 1, a: 0x10}\n"
	var got box
	places, err := strict.Read("box.yaml", []byte(file), "a box", &got)
	if err != nil {
		t.Fatal(err)
	}
	farad := 4.7e-9
	want := box{Name: "a box", Kind: "small", Label: "12", Note: "one\ntwo\n", On: true, Count: 16, Gap: 0.0003, Farad: &farad,
		Share: []float64{0.1, 0.025}, Parts: []part{{"a", 2}, {"b", 9}}, One: &part{Size: 2}, Even: "8000", Pairs: pairs{"b=1", "a=16"}}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
	if places.Has("parts[0].size") || !places.Has("parts[1].size") || places.Value("parts[1].size").Line != 16 {
		t.Errorf("places: %+v", places.Value("parts[1].size"))
	}
	const wrong = `box.yaml:16:5: parts[1].size: expected another size, found both
    size: 9
    ^`
	if e := places.WrongKey("parts[1].size", "another size", "both"); e.Error() != wrong {
		t.Errorf("got\n%s\nwant\n%s", e, wrong)
	}
	if e := places.Wrong("parts[0].size", "a size", "none"); e.Line != 14 || e.Column != 5 {
		t.Errorf("what is not there stands in what it would stand in: got %d:%d", e.Line, e.Column)
	}
}

func TestRefuses(t *testing.T) {
	for _, c := range []struct{ file, want string }{
		{"", `1:1: expected a box, found an empty file`},
		{"kind: small", `1:1: expected the key name, found none`},
		{"name: a\nname: b", `2:1: name: expected each key once, found it a second time`},
		{"name: a\nsize: 2", `2:1: size: expected one of the keys name, kind, label, note, on, count, gap_ms, nf, percent, parts, one, even, pairs, found "size"`},
		{"name: 1", `1:7: name: expected text of 1 to 100 printable characters (in quotes, where they look like a number), found 1`},
		{"name: [a]", `1:7: name: expected text of 1 to 100 printable characters, found a list`},
		{"name: a\nkind: huge", `2:7: kind: expected big or small, found "huge"`},
		{"name: a\nlabel: " + strings.Repeat("x", 21), `2:8: label: expected text of at most 20 printable characters, found "xxxxxxxxxxxxxxxxxxxxx"`},
		{"name: a\non: 1", `2:5: on: expected true or false, found 1`},
		{"name: a\ncount: 256", `2:8: count: expected 0 to 255, found 256`},
		{"name: a\ncount: 1.5", `2:8: count: expected 0 to 255, found 1.5`},
		{"name: a\ngap_ms: 1001", `2:9: gap_ms: expected 0 to 1000, found 1001`},
		{"name: a\nnf: .inf", `2:5: nf: expected 0 to 1e+06, found .inf`},
		{"name: a\npercent: []", `2:10: percent: expected 1 to 3 values, found 0`},
		{"name: a\npercent: [1, 101]", `2:14: percent[1]: expected 0 to 100, found 101`},
		{"name: a\nparts: {}", `2:8: parts: expected a list, found a mapping`},
		{"name: a\nparts: [a]", `2:9: parts[0]: expected a mapping with the keys name, size, found "a"`},
		{"name: a\nparts: [{size: 0}]", `2:16: parts[0].size: expected 1 to 9, found 0`},
		{"name: a\neven: abc", `2:7: even: expected an even number of letters, found "abc"`},
		{"name: a\npairs: [1]", `2:8: pairs: expected pairs, found a list`},
		{"name: a\npairs: {x: y}", `2:12: pairs.x: expected a whole number, found "y"`},
		{"name: &a b", `1:7: expected plain YAML, found an anchor`},
		{"name: a\n---\nname: b", `2:1: expected one document, found a second one`},
	} {
		var doc box
		p, err := strict.Read("f", []byte(c.file), "a box", &doc)
		if err == nil || p != nil {
			t.Errorf("%q: got %v, %v", c.file, p, err)
			continue
		}
		if got, _, _ := strings.Cut(err.Error(), "\n"); got != "f:"+c.want {
			t.Errorf("%q:\n got %s\nwant %s", c.file, got, "f:"+c.want)
		}
		var e *strict.Error
		if !errors.As(error(err), &e) || e.Source != strings.Split(c.file, "\n")[e.Line-1] {
			t.Errorf("%q: source %q", c.file, e.Source)
		}
	}
}

// What is written is read back, and written the same again.
func TestWrittenIsReadBack(t *testing.T) {
	text := rapid.OneOf(rapid.StringMatching(`[A-Za-z][a-z ]{0,8}[a-z]`), rapid.SampledFrom([]string{"true", "1", "0x10", "~", "a: b", "# a", "- a", "é€", `"`, `\`, "N"}))
	rapid.Check(t, func(t *rapid.T) {
		want := box{Name: strict.Text(text.Draw(t, "name")), Kind: rapid.SampledFrom([]string{"big", "small"}).Draw(t, "kind"), Label: strict.Label(text.Draw(t, "label")),
			Note: strict.Prose(text.Draw(t, "note") + "\n" + text.Draw(t, "more")), On: rapid.Bool().Draw(t, "on"), Count: rapid.IntRange(0, 255).Draw(t, "count"),
			Gap: rapid.Float64Range(0, 1).Draw(t, "gap"), Even: even(rapid.SampledFrom([]string{"", "8E", "1200", "abcd"}).Draw(t, "even"))}
		if rapid.Bool().Draw(t, "nf") {
			v := rapid.Float64Range(0, 1e-3).Draw(t, "farad")
			want.Farad = &v
		}
		for range rapid.IntRange(0, 3).Draw(t, "shares") {
			want.Share = append(want.Share, rapid.Float64Range(0, 1).Draw(t, "share"))
		}
		for range rapid.IntRange(0, 4).Draw(t, "parts") {
			want.Parts = append(want.Parts, part{strict.Text(text.Draw(t, "part")), rapid.IntRange(1, 9).Draw(t, "size")})
		}
		if rapid.Bool().Draw(t, "one") {
			want.One = &part{Size: rapid.IntRange(1, 9).Draw(t, "size of one")}
		}
		for i := range rapid.IntRange(0, 3).Draw(t, "pairs") {
			want.Pairs = append(want.Pairs, fmt.Sprintf("k%d=%d", i, rapid.Int().Draw(t, "value")))
		}
		var got box
		out := strict.Write(want)
		if _, err := strict.Read("f", out, "a box", &got); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Fatalf("(-want +got)\n%s\n%s", d, out)
		}
		if again := strict.Write(got); string(again) != string(out) {
			t.Fatalf("written twice:\n%s\n%s", out, again)
		}
	})
}

// A file is an error with a place, or a document.
func FuzzRead(f *testing.F) {
	f.Add([]byte("name: a\nparts: [{name: b}]\npairs: {x: 1}\n"))
	f.Add([]byte("name: [a, {b: c}]\nnote: |\n  x\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		var doc box
		p, err := strict.Read("f", data, "a box", &doc)
		if (p == nil) == (err == nil) || err != nil && (err.Line < 1 || err.Column < 1 || err.Expected == "" || err.Found == "") {
			t.Fatalf("got %v and %#v", p, err)
		}
	})
}
