package linkfile

import (
	"encoding/json"

	"github.com/invopop/jsonschema"
)

// SchemaName is the format that Read takes, the value of a file's key schema.
const SchemaName = "linewitness/profile/1"

// Schema is the JSON Schema (draft 2020-12) of the file, indented; always the same octets. What one value says against
// another only Read knows.
func Schema() []byte {
	r := jsonschema.Reflector{Anonymous: true, DoNotReference: true, ExpandedStruct: true, RequiredFromJSONSchemaTags: true}
	s := r.Reflect(&document{})
	s.Title, s.Description = "Link profile", "What two units speak over a signal line."
	out, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		panic("linkfile: " + err.Error()) // the tags are ours, and tested
	}
	return append(out, '\n')
}

func size(n uint64) *uint64 { return &n }

func (hexText) JSONSchema() *jsonschema.Schema {
	return &jsonschema.Schema{Type: "string", Pattern: `^(([0-9A-Fa-f]{2})+( ([0-9A-Fa-f]{2})+)*)?$`}
}

// JSONSchema: many readers of YAML take 8E1 for the number 80.
func (format) JSONSchema() *jsonschema.Schema {
	return &jsonschema.Schema{AnyOf: []*jsonschema.Schema{{Type: "string", Pattern: `^[5-9][NEOMS](1|1\.5|2)$`}, {Type: "number"}}}
}

func (names) JSONSchema() *jsonschema.Schema {
	name := text("").JSONSchema()
	return &jsonschema.Schema{Type: "object", MinProperties: size(1), MaxProperties: size(namesMost),
		PatternProperties: map[string]*jsonschema.Schema{`^(-?(0|[1-9][0-9]*)|0x[0-9A-Fa-f]+)$`: name}, AdditionalProperties: jsonschema.FalseSchema}
}

func (point) JSONSchema() *jsonschema.Schema {
	return &jsonschema.Schema{Type: "array", MinItems: size(2), MaxItems: size(2), Items: &jsonschema.Schema{Type: "number"}}
}

// JSONSchemaExtend adds the pairs of keys that exclude or need each other.
func (framingPart) JSONSchemaExtend(s *jsonschema.Schema) {
	for _, pair := range [][]string{{"fixed", "length"}, {"gap_ms", "gap_characters"}, {"inside_ms", "inside_characters"}} {
		s.AllOf = append(s.AllOf, &jsonschema.Schema{Not: &jsonschema.Schema{Required: pair}})
	}
	s.DependentRequired = map[string][]string{"escape": {"coding"}}
}
