package vcd

import (
	"io"

	"linewitness/capture"
	"linewitness/capture/internal/text"
)

const (
	longestToken = 64 << 10
	longestShown = 20
)

// token is the next blank-separated token, valid until the next call. whole is false where the file ends right
// behind it, so that some of it may be missing. At the end of the file the error is io.EOF.
func (r *Reader) token() (tok []byte, whole bool, err error) {
	w := r.win
	for {
		for w.Pos < w.End && w.Buf[w.Pos] <= ' ' {
			w.Pos++
		}
		if w.Pos < w.End {
			break
		}
		if !w.Fill() {
			r.at = w.Pos
			if err := w.Err(); err != nil {
				return nil, false, err
			}
			return nil, false, io.EOF
		}
	}
	for n := 0; ; {
		buf := w.Buf[w.Pos:w.End]
		for n < len(buf) && buf[n] > ' ' {
			n++
		}
		r.at = w.Pos
		if n > longestToken {
			return nil, false, r.bad("a token of at most 64 KiB", "one that starts with "+capture.Quote(buf[:longestShown]))
		}
		if n < len(buf) {
			w.Pos += n
			return buf[:n], true, nil
		}
		if !w.Fill() {
			// What a failing source has cut off is no token.
			if err := w.Err(); err != nil {
				return nil, false, err
			}
			r.at = w.Pos
			w.Pos = w.End
			return w.Buf[r.at:w.End], false, nil
		}
	}
}

// need is a token that must come.
func (r *Reader) need(expected string) (tok []byte, whole bool, err error) {
	tok, whole, err = r.token()
	if err == io.EOF {
		err = r.bad(expected, "the end of the file")
	}
	return tok, whole, err
}

// bad blames the last token.
func (r *Reader) bad(expected, found string) error {
	e := &capture.FormatError{
		Name:     r.info.Name,
		Line:     r.win.Line(r.at),
		Offset:   r.win.Offset(r.at),
		Expected: expected,
		Found:    found,
	}
	if r.build.Opened() {
		e.Time = text.Seconds(r.info.Clock, r.build.Now())
	}
	return e
}

// badToken blames the last token and shows it.
func (r *Reader) badToken(expected string, tok []byte, whole bool) error {
	found := capture.Quote(tok)
	if !whole {
		found += " and the end of the file"
	}
	return r.bad(expected, found)
}
