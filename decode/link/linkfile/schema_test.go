package linkfile_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"

	"linewitness/decode/link/linkfile"
)

var update = flag.Bool("update", false, "rewrite golden files")

func TestSchemaGolden(t *testing.T) {
	const name = "testdata/schema.json"
	if *update {
		if err := os.WriteFile(name, linkfile.Schema(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), string(linkfile.Schema())); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
}

func compile(t testing.TB) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(linkfile.Schema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("profile.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("profile.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// value is a file as a validator sees it.
func value(t interface{ Fatalf(string, ...any) }, file []byte) any {
	text, err := yaml.YAMLToJSON(file)
	if err != nil {
		t.Fatalf("%v\n%s", err, file)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return v
}

func TestSchemaTakesGoodFiles(t *testing.T) {
	s := compile(t)
	if err := s.Validate(value(t, []byte(heron(t)))); err != nil {
		t.Errorf("heron.yaml: %v", err)
	}
	rapid.Check(t, func(t *rapid.T) {
		var out bytes.Buffer
		if err := linkfile.Write(&out, anyProfile(t)); err != nil {
			t.Fatal(err)
		}
		if err := s.Validate(value(t, out.Bytes())); err != nil {
			t.Fatalf("%v\n%s", err, out.Bytes())
		}
	})
}

// The schema sees each value alone. Bad files that it must refuse are those whose error is about one value.
func TestSchemaRefusesBadFiles(t *testing.T) {
	s, file, refused := compile(t), heron(t), 0
	alone := regexp.MustCompile(`expected (one of the keys|the key|true or false|loop3|linewitness/|text of|data bits|pairs of|-?[0-9.e+]+ to |[0-9] values|a mapping|a whole)`)
	between := []string{"fields[1].bit:", "fields[1].bits:", "names.2:", "flags.8:", "found 020", "1_200"} // by other values, or by how a number is written
	for _, c := range badFiles {
		_, message, _ := strings.Cut(c.want, ": ")
		if !alone.MatchString(c.want) || slices.ContainsFunc(between, func(s string) bool { return strings.Contains(message, s) }) || !strings.Contains(c.want, "expected") {
			continue
		}
		bad := strings.Replace(file, c.old, c.new, 1)
		text, err := yaml.YAMLToJSON([]byte(bad))
		if err != nil {
			continue // no YAML at all
		}
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
		if err != nil {
			continue
		}
		refused++
		if s.Validate(v) == nil {
			t.Errorf("%q: the schema takes it; Read says %s", c.new, c.want)
		}
	}
	if refused != 22 {
		t.Errorf("%d bad files were tried, want 22", refused)
	}
}

// What the schema says of two keys.
func TestSchemaKnowsPairs(t *testing.T) {
	s, file := compile(t), heron(t)
	for _, add := range []string{"fixed: 12", "gap_characters: 3", "inside_characters: 1"} {
		if s.Validate(value(t, []byte(strings.Replace(file, "  gap_ms: 10", "  gap_ms: 10\n  "+add, 1)))) == nil {
			t.Errorf("%s: the schema takes it", add)
		}
	}
}

// Read takes each key of the schema, in its place, and says so for others: the lists in its errors are the schema's.
func TestSchemaKeysAreTheFiles(t *testing.T) {
	var s map[string]any
	if err := json.Unmarshal(linkfile.Schema(), &s); err != nil {
		t.Fatal(err)
	}
	parts := 0
	var walk func(s map[string]any, wrap func(inner string) string)
	walk = func(s map[string]any, wrap func(inner string) string) {
		properties, ok := s["properties"].(map[string]any)
		if !ok {
			return
		}
		parts++
		_, err := linkfile.Read("p.yaml", []byte(wrap("{zzz: 1}")))
		if err == nil {
			t.Fatalf("%s: no error", wrap("{zzz: 1}"))
		}
		_, list, _ := strings.Cut(err.Error(), "expected one of the keys ")
		list, _, _ = strings.Cut(list, ", found")
		got, want := strings.Split(list, ", "), []string{}
		for key, p := range properties {
			want = append(want, key)
			p := p.(map[string]any)
			if p["type"] == "array" {
				items, _ := p["items"].(map[string]any)
				walk(items, func(inner string) string { return wrap("{" + key + ": [" + inner + "]}") })
				continue
			}
			walk(p, func(inner string) string { return wrap("{" + key + ": " + inner + "}") })
		}
		slices.Sort(got)
		slices.Sort(want)
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s (-schema +reader)\n%s", wrap("..."), d)
		}
	}
	walk(s, func(inner string) string { return inner })
	if parts != 15 {
		t.Errorf("walked %d mappings, want 15", parts)
	}
}
