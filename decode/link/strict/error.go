package strict

import (
	"fmt"
	"strings"
	"unicode"
)

// Error is a mistake in a file: where it stands, what was expected there and what was found.
type Error struct {
	Name         string // the file's
	Line, Column int    // from 1; columns count characters
	Path         string // the value, such as frames[2].fields[0].bits; empty: the file as a whole
	Expected     string
	Found        string
	Source       string // the line
}

// Error is `NAME:LINE:COLUMN: PATH: expected ..., found ...`, below it the line and a caret under the column.
func (e *Error) Error() string {
	path := e.Path
	if path != "" {
		path += ": "
	}
	head := fmt.Sprintf("%s:%d:%d: %sexpected %s, found %s", e.Name, e.Line, e.Column, path, e.Expected, e.Found)
	source, at := window([]rune(e.Source), e.Column-1)
	if source == "" {
		return head
	}
	return head + "\n" + source + "\n" + strings.Repeat(" ", at) + "^"
}

// sourceWidth is the most characters of a line that an error shows.
const sourceWidth = 120

// window cuts a long line around a column and makes it safe to print; at is the column in what is left.
func window(line []rune, column int) (source string, at int) {
	column = max(0, min(column, len(line)))
	from := 0
	if len(line) > sourceWidth {
		from = max(0, min(column-sourceWidth/2, len(line)-sourceWidth))
		line = line[from : from+sourceWidth]
	}
	safe := strings.Map(func(r rune) rune {
		switch {
		case r == '\t':
			return ' '
		case !unicode.IsPrint(r):
			return unicode.ReplacementChar
		}
		return r
	}, string(line))
	return strings.TrimRight(safe, " "), column - from
}

// Quote shows text from a file, cut where it is long.
func Quote(s string) string {
	if r := []rune(s); len(r) > 40 {
		return fmt.Sprintf("%q...", string(r[:40]))
	}
	return fmt.Sprintf("%q", s)
}

// lineOf is line n of a file, from 1.
func lineOf(data string, n int) string {
	for ; n > 1; n-- {
		_, rest, ok := strings.Cut(data, "\n")
		if !ok {
			return ""
		}
		data = rest
	}
	line, _, _ := strings.Cut(data, "\n")
	return strings.TrimSuffix(line, "\r")
}
