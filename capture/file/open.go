// Package file opens recordings of any format. What a file is stands in its first bytes; its name says nothing.
//
//	$...                        VCD
//	a line with time_s          CSV
//	RIFF....WAVE, RF64....WAVE  WAV
//	0A 0D 0D 0A                 pcapng
package file

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"strconv"

	"linewitness/capture"
	"linewitness/capture/csvfile"
	"linewitness/capture/pcapng"
	"linewitness/capture/vcd"
	"linewitness/capture/wav"
)

// Options of Open.
type Options struct {
	Net       string  // the net of a VCD to read, or the number of a WAV's channel, from 1; empty: the only one
	Channel   int     // the channel of a WAV to read, from 1, whatever Net says; 0: see Net
	FullScale float64 // volts at +1.0 of a WAV, or of a log that has its fractions; 0: nobody said
}

// Source is a recording from a file. BytesRead, together with Info().Size, is its progress; it may be called from any
// goroutine.
type Source interface {
	capture.Source
	BytesRead() int64
}

// Open opens the recording of that name; "-" is stdin, which Close leaves open. The source returned is a Source too.
// Errors are *capture.FormatError, *capture.UnsupportedError or those of the system.
func Open(name string, stdin io.Reader, opt Options) (capture.Source, error) {
	if name == "-" {
		return open(struct{ io.Reader }{stdin}, name, 0, opt)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	s, err := openFile(f, name, opt)
	if err != nil {
		f.Close()
		return nil, err
	}
	return s, nil
}

func openFile(f *os.File, name string, opt Options) (capture.Source, error) {
	size, err := sizeOf(f, name)
	if err != nil {
		return nil, err
	}
	return open(f, name, size, opt)
}

// sizeOf is the number of bytes of a regular file; 0: not known. A directory is an error.
func sizeOf(f *os.File, name string) (int64, error) {
	info, err := f.Stat()
	switch {
	case err != nil:
		return 0, err
	case info.IsDir():
		return 0, fmt.Errorf("%s: expected a recording, found a directory", name)
	case !info.Mode().IsRegular():
		return 0, nil
	}
	return info.Size(), nil
}

func open(r io.Reader, name string, size int64, opt Options) (capture.Source, error) {
	head, err := peek(r)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	again := &headed{head: head, Reader: r}
	switch format := recognise(head); format {
	case formatVCD:
		return source(vcd.Open(again, name, vcd.Options{Net: opt.Net, Size: size}))
	case formatCSV:
		return source(csvfile.Open(again, name, csvfile.Options{Size: size}))
	case formatWAV:
		n, err := channel(name, opt)
		if err != nil {
			return nil, err
		}
		return source(wav.Open(again, name, wav.Options{FullScale: opt.FullScale, Channel: n, Size: size}))
	case formatPcapng:
		r, err := pcapng.Open(again, name, pcapng.Options{Size: size})
		if err != nil {
			return nil, err
		}
		return scaled(r, opt.FullScale), nil
	case formatNone:
		found := capture.Quote(head)
		if len(head) == 0 {
			found = "an empty file"
		}
		return nil, &capture.FormatError{Name: name, Expected: "a recording as VCD, CSV (header time_s,level or time_s,volts), WAV or pcapng", Found: found}
	default:
		return nil, &capture.UnsupportedError{Name: name, What: string(format)}
	}
}

// channel is the number of the channel to read; 0: the only one.
func channel(name string, opt Options) (int, error) {
	if opt.Channel != 0 || opt.Net == "" {
		return opt.Channel, nil
	}
	n, err := strconv.ParseUint(opt.Net, 10, 16)
	if err != nil || n == 0 {
		const expected = "the number of a channel, from 1, as the net of a WAV"
		return 0, &capture.FormatError{Name: name, Expected: expected, Found: capture.Quote([]byte(opt.Net))}
	}
	return int(n), nil
}

// source makes no interface of a nil pointer.
func source[S Source](s S, err error) (capture.Source, error) {
	if err != nil {
		return nil, err
	}
	return s, nil
}

// headed gives the bytes that were looked at once more, then the rest.
type headed struct {
	head []byte
	io.Reader
}

func (h *headed) Read(p []byte) (int, error) {
	if len(h.head) > 0 {
		n := copy(p, h.head)
		h.head = h.head[n:]
		return n, nil
	}
	return h.Reader.Read(p)
}

// Close closes what can be closed.
func (h *headed) Close() error {
	if c, ok := h.Reader.(io.Closer); ok {
		return c.Close()
	}
	return nil
}

// most is how far Open looks. A CSV header may have many other columns.
const most = 4096

// peek reads until the format shows, at most 4096 bytes: a pipe may have no more for a long time.
func peek(r io.Reader) ([]byte, error) {
	buf, n := make([]byte, most), 0
	for empty := 0; n < most && empty < 100; {
		m, err := r.Read(buf[n:])
		n += m
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if m == 0 {
			empty++
			continue
		}
		empty = 0
		if n >= 12 && (recognise(buf[:n]) != formatNone || bytes.IndexByte(buf[:n], '\n') >= 0 && !blank(buf[:n])) {
			break
		}
	}
	return buf[:n], nil
}
