// Package strict reads YAML files into structs, and writes structs as such files, strictly: what it doesn't know is a
// mistake, never skipped.
//
// A file is one document of mappings, sequences and scalars of the core schema (YAML 1.2.2, clause 10.3). Refused are
// anchors, aliases, tags, merge keys, directives and explicit keys, doubled keys, whole numbers with leading zeros, and
// text that looks like a number and stands in no quotes (`end: "16"`). A file has at most 1 MiB with at most 30,000 words,
// marks and comments (and 100,000 line ends and characters that could be marks), and no more than 100 empty lines in a row.
//
// Read binds the file to a struct whose tags say what it takes; one set of tags makes the reader, the writer and, by
// github.com/invopop/jsonschema, the schema:
//
//	json                   the key
//	jsonschema             limits and defaults in the names of JSON Schema: required (the key must stand there), minimum,
//	                       maximum, minItems, maxItems, enum, default
//	jsonschema_description for people
//	file                   hex: a number is written as 0x...; milli, micro, nano, pico, percent: the file's number is in
//	                       that share of the struct's unit (file:"milli" with the key gap_ms is in seconds in the struct)
//
// Fields are strings with an enum, Text, Label, Prose, bool, int, float64, structs, slices and pointers to these (nil: the
// key is absent), and types of the caller's own: a string type that is a Word, or a type with a Binder at its pointer and
// an Unbinder.
//
// An error is an *Error with line and column, what was expected there and what was found. Places keeps where each value
// stood, so that the caller's own rules, what one value says against another, fail at a place too.
package strict
