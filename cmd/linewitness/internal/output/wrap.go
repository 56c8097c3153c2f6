package output

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// columns is the width of the answer for people.
const columns = 80

// tied stands for a blank at which no line ends, such as that between a number and its unit.
const tied = '\u00a0'

// appendWrapped appends text in lines of at most 80 columns: the first begins with first, the others with rest. A
// word longer than a line stands alone.
func appendWrapped(dst []byte, first, rest, text string) []byte {
	dst = append(dst, first...)
	at := utf8.RuneCountInString(first)
	words := strings.FieldsFunc(text, func(r rune) bool { return r != tied && unicode.IsSpace(r) })
	for i, word := range words {
		word = strings.ReplaceAll(word, string(tied), " ")
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case at+1+n > columns:
			dst = append(append(dst, '\n'), rest...)
			at = utf8.RuneCountInString(rest)
		default:
			dst = append(dst, ' ')
			at++
		}
		dst = append(dst, word...)
		at += n
	}
	return append(dst, '\n')
}
