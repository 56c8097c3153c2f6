// Package csvfile reads recordings as comma-separated values after RFC 4180.
//
//	time_s,level,volts      header: the columns in any order, level or volts may be missing, others are ignored
//	0,1,23.8                time in seconds; level 0, 1, low, mid, high; volts
//	0.000104167,0,0.4       a row may be a change or a sample
//	0.0002,x,               x, z or nothing: lost until the next row
//	"1.5e-3","1","23.8"     quotes where somebody wants them
//	0.5,1,23.8              the last row is the end
//
// Times are read to the nanosecond without rounding in between; further digits round half away from zero. They must
// not run backwards; of rows with the same time the last one counts. Where there are both level and volts, the
// recording is lost while either is. A record holds at most 64 KiB, which also is all that is ever held of the file.
package csvfile

import (
	"io"

	"linewitness/capture"
	"linewitness/capture/internal/series"
	"linewitness/capture/internal/text"
)

// Options of Open.
type Options struct {
	BlockTransitions int   // transitions or samples after which a block is cut; 0: 8192
	Size             int64 // bytes of the file for Info; 0: not known
}

// Reader is a capture.Source.
type Reader struct {
	win     *text.Window
	info    capture.Info
	build   series.Builder
	columns []role
	fields  [3]field // of the present record, by role
	scratch []byte   // fields with quotes, taken out of them
}

// role is what a column is for.
type role int8

const (
	ignored role = iota - 1
	timeColumn
	levelColumn
	voltsColumn
)

// field is a value and where it starts in the window.
type field struct {
	text []byte
	at   int
}

// Open reads the header. The source is closed by Close if it is an io.Closer. Errors are *capture.FormatError or the
// source's own.
func Open(r io.Reader, name string, opt Options) (*Reader, error) {
	rd := &Reader{win: text.NewWindow(r, name)}
	rd.info = capture.Info{Name: name, Format: "csv", Clock: capture.Nanoseconds, Size: opt.Size}
	if err := rd.header(); err != nil {
		return nil, err
	}
	rd.build = series.New(rd.info.Levels, rd.info.Volts, opt.BlockTransitions)
	return rd, nil
}

// Info describes the recording.
func (r *Reader) Info() capture.Info { return r.info }

// BytesRead is how many bytes were taken from the source so far. It may be called from any goroutine.
func (r *Reader) BytesRead() int64 { return r.win.BytesRead() }

// Close closes the source.
func (r *Reader) Close() error { return r.win.Close() }

// Next refills b. What stands before an error is given first, up to the last whole instant.
func (r *Reader) Next(b *capture.Block) error {
	return r.build.Fill(b, r.row)
}

// row takes one record. At the end of the file the error is io.EOF.
func (r *Reader) row() (complete bool, err error) {
	if err := r.record(); err != nil {
		if err == io.EOF && !r.build.Opened() {
			err = r.bad(r.win.Pos, "a row", "the end of the file")
		}
		return false, err
	}
	at := r.fields[timeColumn]
	t, fault := nanoseconds(at.text)
	if fault != "" {
		return false, r.bad(at.at, fault, capture.Quote(at.text))
	}
	switch {
	case !r.build.Opened():
		r.build.Open(t)
	case t < r.build.Now():
		return false, r.bad(at.at, "a time not before "+text.Seconds(r.info.Clock, r.build.Now()), capture.Quote(at.text))
	case t > r.build.Now():
		complete = r.build.Advance(t)
	}
	// A complete block and an error can come together: the block first.
	return complete, r.values()
}

// values takes the level and the volts of a row.
func (r *Reader) values() error {
	if r.info.Levels {
		f := r.fields[levelColumn]
		level, why, ok := parseLevel(f.text)
		switch {
		case !ok:
			return r.bad(f.at, "a level 0, 1, low, mid, high, x or z", capture.Quote(f.text))
		case why != capture.GapNone:
			r.build.LoseLevel(why)
		default:
			r.build.Level(level)
		}
	}
	if r.info.Volts {
		f := r.fields[voltsColumn]
		v, ok := parseVolts(f.text)
		switch {
		case ok:
			r.build.Volts(v)
		case len(f.text) == 0:
			r.build.LoseVolts(capture.GapUnknown)
		default:
			return r.bad(f.at, "volts as a finite decimal number, or nothing where they are lost", capture.Quote(f.text))
		}
	}
	return nil
}

// bad blames the place at in the window.
func (r *Reader) bad(at int, expected, found string) error {
	e := &capture.FormatError{
		Name:     r.info.Name,
		Line:     r.win.Line(at),
		Column:   r.win.Column(at),
		Offset:   r.win.Offset(at),
		Expected: expected,
		Found:    found,
	}
	if r.build.Opened() {
		e.Time = text.Seconds(r.info.Clock, r.build.Now())
	}
	return e
}
