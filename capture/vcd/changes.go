package vcd

import (
	"io"
	"math"
	"strconv"

	"linewitness/capture"
)

// change reads one time stamp, value or keyword of any kind, across the window's edge too. At the end of the file the
// error is io.EOF.
func (r *Reader) change() (complete bool, err error) {
	tok, whole, err := r.token()
	if err == io.EOF {
		return false, r.atEnd()
	}
	if err != nil {
		return false, err
	}
	switch classes[tok[0]] {
	case classTime:
		return r.time(tok, whole)
	case classKeyword:
		return false, r.keyword(tok, whole)
	case classScalar:
		return false, r.anyScalar(tok, whole)
	case classVector, classReal, classText:
		return false, r.valueAndCode(tok)
	}
	return false, r.badToken("a time stamp, a value or a keyword", tok, whole)
}

// atEnd is io.EOF where a file may end.
func (r *Reader) atEnd() error {
	switch {
	case r.section != "":
		return r.bad("$end of "+r.section, "the end of the file")
	case !r.build.Opened():
		return r.bad("a time stamp or a value", "the end of the file")
	}
	return io.EOF
}

// time takes a time stamp. Digits right before the end of the file may be less than were written.
func (r *Reader) time(tok []byte, whole bool) (complete bool, err error) {
	const expected = "a time stamp # and a number"
	if len(tok) < 2 {
		return false, r.badToken(expected, tok, whole)
	}
	var t capture.Tick
	for _, c := range tok[1:] {
		d := capture.Tick(c - '0')
		if d > 9 {
			return false, r.badToken(expected, tok, whole)
		}
		if t > (math.MaxInt64-d)/10 {
			return false, r.badToken("a time stamp below 2^63", tok, whole)
		}
		t = t*10 + d
	}
	switch {
	case !whole:
		return false, r.badToken("a line end after the time stamp", tok, whole)
	case r.section != "":
		return false, r.badToken("a value or $end of "+r.section, tok, whole)
	case !r.build.Opened():
		r.build.Open(t)
	case t < r.build.Now():
		return false, r.badToken("a time stamp not before #"+strconv.FormatInt(int64(r.build.Now()), 10), tok, whole)
	case t > r.build.Now():
		return r.build.Advance(t), nil
	}
	return false, nil
}

// keyword takes what may stand among the values.
func (r *Reader) keyword(tok []byte, whole bool) error {
	switch string(tok) {
	case "$end":
		if r.section == "" {
			return r.badToken("a time stamp, a value or a keyword", tok, whole)
		}
		r.section = ""
		return nil
	case "$comment":
		return r.skipToEnd("$comment")
	case "$dumpvars", "$dumpall", "$dumpon", "$dumpoff":
		if r.section != "" {
			return r.badToken("$end of "+r.section, tok, whole)
		}
		r.section = string(tok)
		r.openAtZero()
		if r.section == "$dumpoff" {
			r.build.Lose(capture.GapPaused)
		}
		return nil
	case "$dumpports", "$dumpportsoff", "$dumpportson", "$dumpportsall", "$vcdclose":
		return &capture.UnsupportedError{Name: r.info.Name, What: "extended VCD (" + string(tok) + ")"}
	}
	return r.badToken("a time stamp, a value or a keyword such as $dumpvars", tok, whole)
}

// openAtZero starts a recording whose first values have no time stamp before them.
func (r *Reader) openAtZero() {
	if !r.build.Opened() {
		r.build.Open(0)
	}
}

// anyScalar takes a value and a code of any length without a blank between.
func (r *Reader) anyScalar(tok []byte, whole bool) error {
	value, id := tok[0], tok[1:]
	if len(id) == 0 {
		return r.badToken("an identifier code right after the value", tok, whole)
	}
	if err := r.known(id, whole); err != nil {
		return err
	}
	r.openAtZero()
	switch {
	case r.section == "$dumpoff":
	case r.level.is(id):
		r.scalar(value)
	case r.volts.is(id):
		if value == '0' || value == '1' {
			return r.badToken("a real value such as r0.5", tok, whole)
		}
		r.build.LoseVolts(whyLost(value))
	}
	return nil
}

// known checks that a code was declared.
func (r *Reader) known(id []byte, whole bool) error {
	if r.nets.kindOf(id) != undeclared {
		return nil
	}
	if len(id) > longestCode {
		return r.badToken("an identifier code of at most 4 KiB", id, whole)
	}
	return r.badToken("a declared identifier code", id, whole)
}

// longestReal is enough for any number as %.17g and more.
const longestReal = 64

// valueAndCode takes a vector, real or text and the code in the token behind it.
func (r *Reader) valueAndCode(tok []byte) error {
	n, length := copy(r.kept[:], tok), len(tok)
	id, whole, err := r.need("an identifier code")
	if err != nil {
		return err
	}
	if err := r.known(id, whole); err != nil {
		return err
	}
	r.openAtZero()
	if r.section == "$dumpoff" {
		return nil
	}
	value := r.kept[:n]
	switch {
	case r.level.is(id):
		// A net of 1 bit may be written as a vector.
		if length != 2 || classes[value[0]] != classVector || classes[value[1]] != classScalar {
			return r.bad("a value of 1 bit", capture.Quote(value))
		}
		r.scalar(value[1])
	case r.volts.is(id):
		return r.real(value, length)
	}
	return nil
}

// real takes a value of the volts' net. NaN is what some writers put where nothing is known.
func (r *Reader) real(value []byte, length int) error {
	if length <= longestReal && classes[value[0]] == classReal {
		number := value[1:]
		if len(number) == 3 && number[0]|0x20 == 'n' && number[1]|0x20 == 'a' && number[2]|0x20 == 'n' {
			r.build.LoseVolts(capture.GapUnknown)
			return nil
		}
		v, err := strconv.ParseFloat(string(number), 64)
		if err == nil && decimal(number) {
			r.build.Volts(v)
			return nil
		}
	}
	return r.bad("a finite real value such as r0.5", capture.Quote(value))
}

// decimal keeps hexadecimal numbers and words out, which ParseFloat takes and no VCD has.
func decimal(s []byte) bool {
	for _, c := range s {
		if (c < '0' || c > '9') && c != '.' && c != '-' && c != '+' && c|0x20 != 'e' {
			return false
		}
	}
	return true
}
