package csvfile

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"linewitness/capture"
)

const longestRecord = 64 << 10

// header reads the first record and gives the columns their roles.
func (r *Reader) header() error {
	n, closed, err := r.whole()
	if err == io.EOF {
		return r.bad(r.win.Pos, "a header such as time_s,level", "an empty file")
	}
	if err != nil {
		return err
	}
	if bytes.HasPrefix(r.win.Buf[r.win.Pos:r.win.Pos+n], []byte("\ufeff")) {
		r.win.Pos += 3 // byte order mark, from spreadsheets
		n -= 3
	}
	at, end := r.win.Pos, r.win.Pos+n
	if !closed {
		return r.bad(end, "a closing quote", "the end of the file")
	}
	seen := [3]bool{}
	for {
		f, next, fault := r.cutField(at, end)
		if fault != "" {
			return r.bad(f.at, fault, capture.Quote(f.text))
		}
		role := roleOf(f.text)
		if role != ignored && seen[role] {
			return r.bad(f.at, "each column once", capture.Quote(f.text))
		}
		if role != ignored {
			seen[role] = true
		}
		r.columns = append(r.columns, role)
		if next < 0 {
			break
		}
		at = next
	}
	if !seen[timeColumn] || !seen[levelColumn] && !seen[voltsColumn] {
		return r.bad(r.win.Pos, "a header with time_s and level or volts, separated by commas", capture.Quote(trimEnd(r.win.Buf[r.win.Pos:end])))
	}
	r.info.Levels, r.info.Volts = seen[levelColumn], seen[voltsColumn]
	r.pass(n)
	return nil
}

func roleOf(name []byte) role {
	switch strings.ToLower(string(name)) {
	case "time_s":
		return timeColumn
	case "level":
		return levelColumn
	case "volts":
		return voltsColumn
	}
	return ignored
}

// whole makes the next record, of n bytes without its line end, stand in the window from Pos on. Blank lines are
// passed over. closed is false where the file ends within quotes. At the end of the file the error is io.EOF.
func (r *Reader) whole() (n int, closed bool, err error) {
	w := r.win
	n, quoted := 0, false
	for {
		buf := w.Buf[w.Pos:w.End]
		end := bytes.IndexByte(buf[n:], '\n')
		part := buf[n:]
		if end >= 0 {
			part = part[:end]
		}
		if bytes.Count(part, quote)%2 == 1 {
			quoted = !quoted
		}
		n += len(part)
		switch {
		case n > longestRecord:
			return 0, false, r.bad(w.Pos, "a record of at most 64 KiB", "a longer one")
		case end >= 0 && quoted:
			n++ // a line end within quotes
		case end >= 0 && len(trimEnd(buf[:n])) == 0:
			w.Pos += n + 1
			n = 0
		case end >= 0:
			return n, true, nil
		case w.Fill():
		case w.Err() != nil:
			return 0, false, w.Err()
		case len(trimEnd(w.Buf[w.Pos:w.Pos+n])) == 0:
			return 0, false, io.EOF
		default:
			return n, !quoted, nil
		}
	}
}

var quote = []byte{'"'}

// pass steps over a record and its line end.
func (r *Reader) pass(n int) {
	r.win.Pos = min(r.win.Pos+n+1, r.win.End)
}

// record splits the next record into r.fields. They are valid until the next call.
func (r *Reader) record() error {
	if r.plain() {
		return nil
	}
	n, closed, err := r.whole()
	if err != nil {
		return err
	}
	start, end := r.win.Pos, r.win.Pos+n
	if !closed {
		return r.bad(end, "a closing quote", "the end of the file")
	}
	r.scratch = r.scratch[:0]
	at := start
	for i, role := range r.columns {
		if at < 0 {
			return r.bad(end, columnCount(len(r.columns)), fmt.Sprint(i))
		}
		f, next, fault := r.cutField(at, end)
		if fault != "" {
			return r.bad(f.at, fault, capture.Quote(f.text))
		}
		if role != ignored {
			r.fields[role] = f
		}
		at = next
	}
	if at >= 0 {
		return r.bad(at, columnCount(len(r.columns)), "more")
	}
	r.pass(n)
	return nil
}

func columnCount(n int) string { return fmt.Sprintf("%d columns", n) }

// plain splits a record without quotes that stands whole in the window; false: leave it to the careful way.
func (r *Reader) plain() bool {
	w := r.win
	buf := w.Buf[:w.End]
	at, column := w.Pos, 0
	for i := at; i < len(buf); i++ {
		c := buf[i]
		if c > ',' || c != ',' && c != '\n' && c != '"' {
			continue
		}
		if c == '"' || column == len(r.columns) {
			return false
		}
		if role := r.columns[column]; role != ignored {
			r.fields[role] = field{trim(buf[at:i]), at}
		}
		column++
		at = i + 1
		if c == '\n' {
			if column != len(r.columns) || i-w.Pos > longestRecord {
				return false
			}
			w.Pos = at
			return true
		}
	}
	return false
}

// cutField takes the field that starts at, of a record that stops at end, and says where the next one starts (-1:
// there is none). fault is what was expected where the field is bad.
func (r *Reader) cutField(at, end int) (f field, next int, fault string) {
	buf := r.win.Buf[:end]
	f.at = at
	i := at
	for i < end && (buf[i] == ' ' || buf[i] == '\t') {
		i++
	}
	if i == end || buf[i] != '"' {
		stop := bytes.IndexByte(buf[at:], ',')
		next = at + stop + 1
		if stop < 0 {
			stop, next = end-at, -1
		}
		f.text = trim(buf[at : at+stop])
		if bytes.IndexByte(f.text, '"') >= 0 {
			fault = "quotes around the whole field"
		}
		return f, next, fault
	}
	kept := len(r.scratch)
	for i++; i < end; i++ {
		if buf[i] == '"' {
			if i+1 == end || buf[i+1] != '"' {
				break
			}
			i++
		}
		r.scratch = append(r.scratch, buf[i])
	}
	f.text = trim(r.scratch[kept:])
	for i++; i < end && buf[i] <= ' '; i++ {
	}
	switch {
	case i >= end:
		return f, -1, ""
	case buf[i] != ',':
		f.text, f.at = buf[i:i+1], i
		return f, -1, "a comma after the closing quote"
	}
	return f, i + 1, ""
}

func trim(s []byte) []byte {
	for len(s) > 0 && s[0] <= ' ' {
		s = s[1:]
	}
	return trimEnd(s)
}

func trimEnd(s []byte) []byte {
	for len(s) > 0 && s[len(s)-1] <= ' ' {
		s = s[:len(s)-1]
	}
	return s
}
