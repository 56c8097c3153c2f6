// Package vcd reads value change dumps after IEEE 1364-2005 clause 18.
//
//	$timescale 1 ns $end                    1, 10 or 100, of s ms us ns ps fs
//	$scope module top $end                  scopes nest
//	$var wire 1 ! tx $end                   type, width, identifier code, name, perhaps [range]
//	$var real 64 " volts $end
//	$upscope $end
//	$enddefinitions $end
//	#0                                      time in timescale units
//	$dumpvars 1! r23.8 " $end               first values; $dumpall and $dumpon repeat them, $dumpoff withdraws them
//	#104167
//	0!                                      scalar: value and code without a blank
//	b1010 %                                 vector, skipped
//	r0.25 "                                 real
//
// The one net of 1 bit is the level, the one real net the volts; Options.Net picks one where there are more. Names
// that share a code are one net. Unknown (x), high impedance (z) and non-standard scalars are lost intervals, and so
// is the time from $dumpoff to the next value. The recording lasts from the first time stamp (0 where values come
// before any) to the last one. Memory doesn't grow with the file: a token holds at most 64 KiB, a code 4 KiB, a
// header 1,000,000 nets. Extended VCD (clause 18.4) is not supported.
package vcd

import (
	"encoding/binary"
	"io"
	"math/bits"

	"linewitness/capture"
	"linewitness/capture/internal/series"
	"linewitness/capture/internal/text"
)

// Options of Open.
type Options struct {
	Net              string // the net to read, by name or full path top.tx, perhaps with [range]; empty: the only one
	BlockTransitions int    // transitions or samples after which a block is cut; 0: 8192
	Size             int64  // bytes of the file for Info; 0: not known
}

// Reader is a capture.Source.
type Reader struct {
	win   *text.Window
	info  capture.Info
	build series.Builder
	nets  nets
	level code // of the net of 1 bit
	volts code // of the real net

	at      int               // where the last token starts in the window
	section string            // keyword whose $end is still to come
	kept    [longestReal]byte // a value, while its code is read
}

// Open reads the header. The source is closed by Close if it is an io.Closer. Errors are *capture.FormatError,
// *capture.UnsupportedError or the source's own.
func Open(r io.Reader, name string, opt Options) (*Reader, error) {
	rd := &Reader{win: text.NewWindow(r, name)}
	rd.info = capture.Info{Name: name, Format: "vcd", Size: opt.Size}
	rd.nets.wanted = opt.Net
	if err := rd.header(); err != nil {
		return nil, err
	}
	rd.info.Levels, rd.info.Volts = rd.level.n > 0, rd.volts.n > 0
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
	return r.build.Fill(b, r.changes)
}

// changes walks on until a block is complete or there is an error.
func (r *Reader) changes() (complete bool, err error) {
	for {
		if r.build.Opened() && r.section == "" && r.fast() {
			return true, nil
		}
		if complete, err := r.change(); complete || err != nil {
			return complete, err
		}
	}
}

// room is what the fast path may look at: #, three times eight digits.
const room = 25

// fast reads time stamps and scalars of codes of 1 to 3 characters, which is what nearly all of a file consists of.
// It stops before anything else, and near the end of the window.
func (r *Reader) fast() (complete bool) {
	buf, pos := r.win.Buf[:r.win.End], r.win.Pos
	level, volts := r.level.short(), r.volts.short()
	for len(buf)-pos >= room {
		w := (*[room]byte)(buf[pos:])
		switch c := w[0]; classes[c] {
		case classBlank:
			pos++
			continue
		case classTime:
			t, n := stamp(w)
			if n == 0 || t < r.build.Now() {
				r.win.Pos = pos
				return false
			}
			pos += n
			if t > r.build.Now() && r.build.Advance(t) {
				r.win.Pos = pos
				return true
			}
		case classScalar:
			key, n := shortKey(w)
			switch {
			case n == 0:
				r.win.Pos = pos
				return false
			case key == level:
				r.scalar(c)
			case r.nets.short.get(key) == undeclared || key == volts:
				r.win.Pos = pos
				return false
			}
			pos += n
		default:
			r.win.Pos = pos
			return false
		}
	}
	r.win.Pos = pos
	return false
}

// stamp reads # and up to 18 digits, eight at a time, and the blank behind; n is 0 where that isn't what stands there.
func stamp(w *[room]byte) (t capture.Tick, n int) {
	i := 1
	for i+8 <= room {
		v := binary.LittleEndian.Uint64(w[i : i+8])
		k := leadingDigits(v)
		if k == 8 {
			t = t*1e8 + eightDigits(v)
			i += 8
			continue
		}
		t = t*powersOfTen[k] + eightDigits(v<<(64-8*k))
		i += k
		if i == 1 || i > 19 || w[i] > ' ' {
			return 0, 0
		}
		return t, i + 1
	}
	return 0, 0
}

var powersOfTen = [8]capture.Tick{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7}

// leadingDigits counts the decimal digits at the beginning (the low end) of eight characters. A character is none if it
// is below '0', or if 0x46 added to it reaches the top bit, or if it has that bit itself.
func leadingDigits(v uint64) int {
	const ones = 0x0101010101010101
	// A borrow or carry can only come from a character that is no digit itself, so the lowest one found is right.
	none := ((v + 0x46*ones) | (v - 0x30*ones) | v) & (0x80 * ones)
	return bits.TrailingZeros64(none) / 8
}

// eightDigits is the number written by eight characters '0' to '9', or 0 bytes, the first at the low end.
func eightDigits(v uint64) capture.Tick {
	v &= 0x0F0F0F0F0F0F0F0F
	v = (v*10 + v>>8) & 0x00FF00FF00FF00FF
	v = (v*100 + v>>16) & 0x0000FFFF0000FFFF
	return capture.Tick((v*10000 + v>>32) & 0xFFFFFFFF)
}

// shortKey reads a scalar's code of 1 to 3 characters and the blank behind.
func shortKey(w *[room]byte) (key uint32, n int) {
	key = uint32(w[1])
	if w[2] <= ' ' {
		return key, 3
	}
	key |= uint32(w[2]) << 8
	if w[3] <= ' ' {
		return key, 4
	}
	key |= uint32(w[3]) << 16
	if w[4] <= ' ' {
		return key, 5
	}
	return 0, 0
}

// scalar takes a value of the level's net.
func (r *Reader) scalar(c byte) {
	switch c {
	case '0':
		r.build.Level(capture.Low)
	case '1':
		r.build.Level(capture.High)
	default:
		r.build.LoseLevel(whyLost(c))
	}
}

func whyLost(c byte) capture.GapWhy {
	if c == 'z' || c == 'Z' {
		return capture.GapFloating
	}
	return capture.GapUnknown
}

// class is what a token is by its first byte.
type class uint8

const (
	classOther class = iota
	classBlank
	classTime
	classScalar
	classVector
	classReal
	classText // not in the standard, but widely written: s, text, blank, code
	classKeyword
)

var classes = func() (t [256]class) {
	for c := range byte(' ' + 1) {
		t[c] = classBlank
	}
	// Beside 0, 1, x and z: the values of IEEE 1164, which some writers pass on.
	for _, c := range []byte("01xXzZuUwWlLhH-") {
		t[c] = classScalar
	}
	t['#'], t['$'], t['b'], t['B'] = classTime, classKeyword, classVector, classVector
	t['r'], t['R'], t['s'], t['S'] = classReal, classReal, classText, classText
	return t
}()
