package vcd

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"

	"linewitness/capture"
)

const (
	longestName  = 4 << 10
	longestScope = 64 << 10
)

// header reads the declarations up to $enddefinitions $end and chooses the nets.
func (r *Reader) header() error {
	h := declarations{r: r}
	for {
		keyword, whole, err := h.next()
		if err != nil {
			return err
		}
		switch string(keyword) {
		case "$comment", "$date", "$version":
			err = r.skipToEnd(string(keyword))
		case "$timescale":
			err = h.timescale()
		case "$scope":
			err = h.enterScope()
		case "$upscope":
			err = h.leaveScope()
		case "$var":
			err = h.net()
		case "$enddefinitions":
			if err = r.end("$enddefinitions"); err == nil {
				return h.finish()
			}
		default:
			err = r.badToken("a header keyword such as $var or $enddefinitions", keyword, whole)
		}
		if err != nil {
			return err
		}
		h.begun = true
	}
}

// declarations is the state of a header.
type declarations struct {
	r     *Reader
	begun bool
	scope []byte // path, joined with dots
	depth []int  // length of scope at each level
	parts []byte // text of a section, joined
}

func (h *declarations) next() (keyword []byte, whole bool, err error) {
	keyword, whole, err = h.r.token()
	switch {
	case err == io.EOF && !h.begun:
		err = h.r.bad("a VCD header", "an empty file")
	case err == io.EOF:
		err = h.r.bad("$enddefinitions", "the end of the file")
	case err == nil && !h.begun && keyword[0] != '$':
		err = h.r.badToken("a VCD header that starts with a keyword such as $timescale", keyword, whole)
	}
	return keyword, whole, err
}

// finish checks what the whole header must have.
func (h *declarations) finish() error {
	r := h.r
	if !r.info.Clock.Valid() {
		return r.bad("$timescale before $enddefinitions", "none")
	}
	var expected, found string
	if r.level, r.volts, expected, found = r.nets.choose(); expected != "" {
		return r.bad(expected, found)
	}
	return nil
}

// end reads the $end of a section without content.
func (r *Reader) end(of string) error {
	expected := "$end of " + of
	tok, whole, err := r.need(expected)
	if err == nil && string(tok) != "$end" {
		err = r.badToken(expected, tok, whole)
	}
	return err
}

func (r *Reader) skipToEnd(of string) error {
	expected := "$end of " + of
	for {
		tok, _, err := r.need(expected)
		if err != nil || string(tok) == "$end" {
			return err
		}
	}
}

// rest joins the tokens up to $end into h.parts.
func (h *declarations) rest(of string) error {
	h.parts = h.parts[:0]
	expected := "$end of " + of
	for {
		tok, whole, err := h.r.need(expected)
		if err != nil || string(tok) == "$end" {
			return err
		}
		if keywords[string(tok)] {
			return h.r.badToken(expected, tok, whole)
		}
		if len(h.parts)+len(tok) > longestName {
			return h.r.bad(fmt.Sprintf("%s of at most 4 KiB", of), "more")
		}
		h.parts = append(h.parts, tok...)
	}
}

// keywords start a section; in a place where a name or number must stand they show that $end was forgotten. A net
// may have a name with a dollar sign, so that other words don't show anything.
var keywords = map[string]bool{
	"$comment": true, "$date": true, "$version": true, "$timescale": true, "$scope": true, "$upscope": true,
	"$var": true, "$enddefinitions": true,
}

// timescale reads a number and a unit, joined or apart.
func (h *declarations) timescale() error {
	r := h.r
	if r.info.Clock.Valid() {
		return r.bad("one $timescale", "another")
	}
	if err := h.rest("$timescale"); err != nil {
		return err
	}
	digits := len(h.parts) - len(bytes.TrimLeft(h.parts, "0123456789"))
	clock, ok := clocks[string(h.parts[digits:])]
	n := map[string]int64{"1": 1, "10": 10, "100": 100}[string(h.parts[:digits])]
	if !ok || n == 0 {
		return r.bad("a timescale of 1, 10 or 100 and s, ms, us, ns, ps or fs", capture.Quote(h.parts))
	}
	if clock.Num >= n {
		r.info.Clock = capture.Clock{Num: clock.Num / n, Den: 1}
	} else {
		r.info.Clock = capture.Clock{Num: 1, Den: n}
	}
	return nil
}

var clocks = map[string]capture.Clock{
	"s": {Num: 1, Den: 1}, "ms": {Num: 1e3, Den: 1}, "us": {Num: 1e6, Den: 1},
	"ns": {Num: 1e9, Den: 1}, "ps": {Num: 1e12, Den: 1}, "fs": {Num: 1e15, Den: 1},
}

func (h *declarations) enterScope() error {
	if tok, whole, err := h.r.need("a scope's type"); err != nil {
		return err
	} else if string(tok) == "$end" || keywords[string(tok)] {
		return h.r.badToken("a scope's type", tok, whole)
	}
	if err := h.rest("$scope"); err != nil {
		return err
	}
	if len(h.scope)+len(h.parts) > longestScope || len(h.depth) > longestScope {
		return h.r.bad("scopes of at most 64 KiB in all", "more")
	}
	h.depth = append(h.depth, len(h.scope))
	if len(h.scope) > 0 {
		h.scope = append(h.scope, '.')
	}
	h.scope = append(h.scope, h.parts...)
	return nil
}

func (h *declarations) leaveScope() error {
	if err := h.r.end("$upscope"); err != nil {
		return err
	}
	n := len(h.depth) - 1
	if n < 0 {
		return h.r.bad("$scope before $upscope", "none")
	}
	h.scope, h.depth = h.scope[:h.depth[n]], h.depth[:n]
	return nil
}

// net reads $var type width code name [range] $end.
func (h *declarations) net() error {
	r := h.r
	typ, whole, err := r.need("a net's type")
	if err != nil {
		return err
	}
	if string(typ) == "port" {
		return &capture.UnsupportedError{Name: r.info.Name, What: "extended VCD (ports)"}
	}
	isReal, isConstant := strings.HasPrefix(string(typ), "real"), constants[string(typ)]
	if typ[0] == '$' {
		return r.badToken("a net's type", typ, whole)
	}
	tok, whole, err := r.need("a net's width")
	if err != nil {
		return err
	}
	width, convErr := strconv.ParseUint(string(tok), 10, 31)
	if convErr != nil {
		return r.badToken("a net's width in bits", tok, whole)
	}
	tok, whole, err = r.need("an identifier code")
	if err != nil {
		return err
	}
	if bad := checkCode(tok); bad != "" {
		return r.badToken(bad, tok, whole)
	}
	k := other
	switch {
	case isReal:
		k = volts
	case width == 1 && !isConstant:
		k = bit
	}
	id := append([]byte(nil), tok...)
	if err := h.rest("$var"); err != nil {
		return err
	}
	if len(h.parts) == 0 {
		return r.badToken("a net's name", []byte("$end"), true)
	}
	name, bits := splitRange(h.parts)
	if err := r.nets.declare(id, k, h.scope, name, bits); err != nil {
		return r.bad("nets that can be told apart, at most 1,000,000 of them", err.Error())
	}
	return nil
}

// constants are the types that can't be a line's level: events have no level, the others never change.
var constants = map[string]bool{"event": true, "parameter": true, "supply0": true, "supply1": true, "string": true}

// checkCode tells what was expected where id is no identifier code.
func checkCode(id []byte) string {
	if len(id) > longestCode {
		return "an identifier code of at most 4 KiB"
	}
	for _, c := range id {
		if c < '!' || c > '~' {
			return "an identifier code of characters ! to ~"
		}
	}
	return ""
}

// splitRange takes a range such as [7:0] off a net's name.
func splitRange(s []byte) (name, bits []byte) {
	if i := bytes.LastIndexByte(s, '['); i > 0 && s[len(s)-1] == ']' {
		return s[:i], s[i:]
	}
	return s, nil
}
