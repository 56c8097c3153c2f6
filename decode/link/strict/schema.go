package strict

import "github.com/invopop/jsonschema"

// OneLine is the pattern of text of one line: no blanks at its ends.
const OneLine = `^(\S(.*\S)?)?$`

func size(n uint64) *uint64 { return &n }

// JSONSchema is the part of a schema that says what Text takes, but for control characters.
func (Text) JSONSchema() *jsonschema.Schema {
	return &jsonschema.Schema{Type: "string", MinLength: size(1), MaxLength: size(TextMost), Pattern: OneLine}
}

// JSONSchema is the same of Label.
func (Label) JSONSchema() *jsonschema.Schema {
	return &jsonschema.Schema{Type: "string", MaxLength: size(LabelMost), Pattern: OneLine}
}

// JSONSchema is the same of Prose.
func (Prose) JSONSchema() *jsonschema.Schema {
	return &jsonschema.Schema{Type: "string", MaxLength: size(ProseMost)}
}
