package strict

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/scanner"
	"github.com/goccy/go-yaml/token"
)

// Limits of a file. The parser's time goes with the square of the tokens (about half a second for maxTokens of them),
// and it recurses with the depth of brackets.
const (
	maxBytes  = 1 << 20
	maxTokens = 30000
	maxDepth  = 16
	maxMarks  = 100000 // characters that can make a token: the library scans all before it gives the first
	maxEmpty  = 100    // empty lines in a row: what they cost in folded text goes with their square
)

const marks = "\n,:[]{}-?#&*!|>'\"%"

const byteOrderMark = "\uFEFF"

// parse turns a file into nodes; what is what the file should be. Its errors have no Name and Source yet.
func parse(src, what string) (*Node, *Error) {
	if len(src) > maxBytes {
		return nil, at(1, 1, "", fmt.Sprintf("at most %d bytes", maxBytes), fmt.Sprintf("%d", len(src)))
	}
	if err := printable(src); err != nil {
		return nil, err
	}
	tokens, err := scan(src)
	if err != nil {
		return nil, err
	}
	body, err := tree(tokens)
	if err != nil {
		return nil, err
	}
	if body == nil {
		return nil, at(1, 1, "", what, "an empty file")
	}
	return convert(body, "")
}

func at(line, col int, path, expected, found string) *Error {
	return &Error{Line: line, Column: col, Path: path, Expected: expected, Found: found}
}

func atToken(t *token.Token, expected, found string) *Error {
	if t == nil || t.Position == nil {
		return at(1, 1, "", expected, found)
	}
	return at(max(1, t.Position.Line), max(1, t.Position.Column), "", expected, found)
}

// printable refuses what is not UTF-8, too many marks or empty lines, and what YAML does not count as printable (YAML 1.2.2, clause 5.1).
func printable(src string) *Error {
	line, col, count, empty := 1, 1, 0, 0
	for i, r := range src {
		switch {
		case r == '\n':
			if empty++; empty > maxEmpty+1 { // the first one ends a line
				return at(line, col, "", fmt.Sprintf("at most %d empty lines in a row", maxEmpty), "more")
			}
		case r != ' ' && r != '\t' && r != '\r':
			empty = 0
		}
		if r < 0x7F && strings.IndexByte(marks, byte(r)) >= 0 {
			if count++; count > maxMarks {
				return at(line, col, "", fmt.Sprintf("at most %d line ends and marks", maxMarks), "more")
			}
		}
		if r == utf8.RuneError {
			if _, size := utf8.DecodeRuneInString(src[i:]); size == 1 {
				return at(line, col, "", "text in UTF-8", fmt.Sprintf("the byte 0x%02X", src[i]))
			}
		}
		ok := r >= 0x20 && r < 0x7F || r == '\t' || r == '\n' || r == 0x85 || r >= 0xA0 && r != 0xFEFF && r != 0xFFFE && r != 0xFFFF
		if r == '\r' {
			ok = i+1 < len(src) && src[i+1] == '\n'
		}
		if !ok {
			return at(line, col, "", "printable text", fmt.Sprintf("the character U+%04X", r))
		}
		col++
		if r == '\n' {
			line, col = line+1, 1
		}
	}
	return nil
}

// refused are the parts of YAML that a file must not use.
var refused = map[token.Type]string{
	token.AnchorType: "an anchor", token.AliasType: "an alias", token.TagType: "a tag", token.MergeKeyType: "a merge key",
	token.DirectiveType: "a directive", token.MappingKeyType: "an explicit key", token.DocumentEndType: "a document's end",
}

// scan cuts the file into tokens and refuses those that a file must not use, and too many of them.
func scan(src string) (tokens token.Tokens, bad *Error) {
	defer func() {
		if recover() != nil { // the library's, on text no table foresees
			tokens, bad = nil, at(1, 1, "", "YAML", "text that cannot be taken apart")
		}
	}()
	var s scanner.Scanner
	s.Init(src)
	depth := 0
	for {
		some, err := s.Scan()
		if errors.Is(err, io.EOF) {
			return tokens, nil
		}
		var invalid *scanner.InvalidTokenError
		if errors.As(err, &invalid) {
			return nil, atToken(invalid.Token, "YAML", "a mistake: "+err.Error())
		}
		if err != nil {
			return nil, at(1, 1, "", "YAML", "a mistake: "+err.Error())
		}
		for _, t := range some {
			if bad := check(tokens, t, &depth); bad != nil {
				return nil, bad
			}
			tokens.Add(t)
		}
		if len(tokens) > maxTokens {
			return nil, atToken(tokens[maxTokens], fmt.Sprintf("at most %d words, marks and comments", maxTokens), "more")
		}
	}
}

// check judges a token by what stands before it.
func check(before token.Tokens, t *token.Token, depth *int) *Error {
	if found, bad := refused[t.Type]; bad {
		return atToken(t, "plain YAML", found)
	}
	switch t.Type {
	case token.InvalidType:
		return atToken(t, "YAML", "a mistake: "+t.Error)
	case token.DocumentHeaderType:
		for _, b := range before {
			if b.Type != token.CommentType {
				return atToken(t, "one document", "a second one")
			}
		}
	case token.MappingStartType, token.SequenceStartType:
		*depth++
	case token.MappingEndType, token.SequenceEndType:
		*depth--
	}
	dashes := 0
	if t.Type == token.SequenceEntryType {
		for dashes < maxDepth && dashes < len(before) && before[len(before)-1-dashes].Type == token.SequenceEntryType {
			dashes++
		}
	}
	if *depth > maxDepth || dashes == maxDepth {
		return atToken(t, fmt.Sprintf("at most %d brackets or dashes in one another", maxDepth), "more")
	}
	return nil
}

// tree makes the parser's tree; nil: the file is empty.
func tree(tokens token.Tokens) (body ast.Node, bad *Error) {
	defer func() {
		if recover() != nil { // as in scan
			body, bad = nil, at(1, 1, "", "YAML", "text that cannot be taken apart")
		}
	}()
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		var e yaml.Error
		if errors.As(err, &e) {
			return nil, atToken(e.GetToken(), "YAML", "a mistake: "+e.GetMessage())
		}
		return nil, at(1, 1, "", "YAML", "a mistake: "+err.Error())
	}
	for _, d := range file.Docs {
		if d.Body == nil || d.Body.Type() == ast.CommentType {
			continue
		}
		if body != nil {
			return nil, atToken(d.Body.GetToken(), "one document", "a second one")
		}
		body = d.Body
	}
	return body, nil
}
