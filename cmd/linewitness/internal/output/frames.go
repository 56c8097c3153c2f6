package output

import (
	"bufio"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"linewitness/capture"
	"linewitness/cmd/linewitness/internal/draft"
	"linewitness/decode/link"
)

// FramesColumns are the keys of a frame, in order, in every format. JSON has the last two only of frames that a profile
// describes.
var FramesColumns = []string{"name", "t_s", "end_s", "side", "hex", "ok", "why", "kind", "values"}

// EndingError is a name for frames whose ending says no format.
type EndingError struct{ Name string }

func (e *EndingError) Error() string {
	return fmt.Sprintf("--frames: expected a name ending in .jsonl, .csv or .pcapng, or -, found %q", e.Name)
}

// encoder is a format of frames: one line, or packet, a frame, appended without allocation.
type encoder interface {
	header(dst []byte) []byte
	recording(name string, p *link.Profile)
	frame(dst []byte, f *link.Frame, clock capture.Clock, wide bool) []byte
}

// Frames writes frames one a line. Its first error is kept; Commit tells it. One goroutine at a time may use it.
type Frames struct {
	enc   encoder
	out   *bufio.Writer
	name  string       // as asked for
	file  *draft.Draft // nil: standard output
	line  []byte
	clock capture.Clock
	begun int64 // bytes written at the last Mark
	size  int64
	err   error
}

// OpenFrames opens frames' output: a file by its ending, - for JSON lines on stdout. A file stands under its name
// only after Commit.
func OpenFrames(name string, stdout io.Writer) (*Frames, error) {
	w := &Frames{name: name}
	switch ending := strings.ToLower(filepath.Ext(name)); {
	case name == "-", ending == ".jsonl":
		w.enc = &jsonLines{}
	case ending == ".csv":
		w.enc = &commaSeparated{}
	case ending == ".pcapng":
		w.enc = &packets{}
	default:
		return nil, &EndingError{name}
	}
	if name == "-" {
		w.out = bufio.NewWriterSize(stdout, 1<<16)
	} else {
		d, err := draft.New(name)
		if err != nil {
			return nil, err
		}
		w.file, w.out = d, bufio.NewWriterSize(d, 1<<16)
	}
	w.write(w.enc.header(w.line[:0]))
	return w, nil
}

// Name is what the output was opened as.
func (w *Frames) Name() string { return w.name }

// Recording begins the frames of another recording; p describes them, nil: nothing does.
func (w *Frames) Recording(name string, clock capture.Clock, p *link.Profile) {
	w.enc.recording(name, p)
	w.clock = clock
}

// Mark says that what was written so far stays.
func (w *Frames) Mark() { w.begun = w.size }

// Add writes a frame.
func (w *Frames) Add(f *link.Frame) {
	if w.err != nil {
		return
	}
	w.write(w.enc.frame(w.line[:0], f, w.clock, f.DataBits == 9))
}

func (w *Frames) write(line []byte) {
	w.line = line
	if w.err != nil {
		return
	}
	n, err := w.out.Write(line)
	w.size += int64(n)
	w.err = w.named(err)
}

// named puts the output's name before what the file says.
func (w *Frames) named(err error) error {
	if err == nil || w.file == nil {
		return err
	}
	return fmt.Errorf("%s: %w", w.name, err)
}

// Drop takes back what was written since the last Mark, where the output is a file: its recording could not be read.
func (w *Frames) Drop() {
	if w.err == nil {
		w.err = w.named(w.out.Flush())
	}
	if w.file == nil || w.err != nil {
		return
	}
	if dropped, err := w.file.Cut(w.begun); err != nil {
		w.err = w.named(err)
	} else if dropped {
		w.size = w.begun
	}
}

// Flush hands on what was written so far and tells the first error.
func (w *Frames) Flush() error {
	if w.err == nil {
		w.err = w.named(w.out.Flush())
	}
	return w.err
}

// Commit ends the output and gives the file its name. After an error nothing is left behind.
func (w *Frames) Commit() error {
	err := w.Flush()
	if w.file == nil {
		return err
	}
	if err != nil {
		w.file.Abandon()
		return err
	}
	w.err = w.named(w.file.Commit())
	return w.err
}

// Abandon ends the output and leaves no file behind.
func (w *Frames) Abandon() {
	if w.file != nil {
		w.file.Abandon()
	}
}

// appendWhy lists the rules that f broke in the contract's words. A frame that the recording begins, ends or has a
// gap inside has not a frame's shape there.
func appendWhy(dst []byte, f *link.Frame, open, separator, close string) []byte {
	n := 0
	for _, w := range contractWhy {
		if f.Why&w.why == 0 && !(w.why == link.WhyUnframed && f.Why == link.WhyCut) {
			continue
		}
		if n > 0 {
			dst = append(dst, separator...)
		}
		dst = append(dst, open...)
		dst = append(dst, w.name...)
		dst = append(dst, close...)
		n++
	}
	return dst
}

var contractWhy = [...]struct {
	why  link.Why
	name string
}{
	{link.WhyChecksum, "checksum"}, {link.WhyParity, "parity"}, {link.WhyStop, "stop"},
	{link.WhyLength, "length"}, {link.WhyTiming, "timing"}, {link.WhyUnframed, "unframed"},
}

const upper = "0123456789ABCDEF"

func appendHex(dst []byte, values []uint16, wide bool) []byte {
	for _, v := range values {
		if wide {
			dst = append(dst, upper[v>>12], upper[v>>8&15])
		}
		dst = append(dst, upper[v>>4&15], upper[v&15])
	}
	return dst
}

// frameSide is the side in the contract's words: a frame comes from a talker or from nobody known.
func frameSide(s capture.Side) string {
	switch s {
	case capture.Indoor, capture.Outdoor, capture.SideA, capture.SideB:
		return s.String()
	}
	return capture.SideUnknown.String()
}
