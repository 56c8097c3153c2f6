package pcapng

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/google/gopacket/pcapgo"

	"linewitness/capture"
	"linewitness/capture/internal/record"
	"linewitness/capture/internal/text"
)

// Options of Open.
type Options struct {
	Size int64 // bytes in all; 0: not known
}

// Note is what somebody said about an instant.
type Note struct {
	At   capture.Tick
	Text string
}

// Limits of what is kept beside the blocks.
const (
	mostNotes = 1024
	mostSpans = 1024
)

// Reader is a capture.Source of a log. Blocks are given as they were written; a block that is not whole and sound is not
// given: the time it covered is a gap before the next one.
type Reader struct {
	closer io.Closer // nil: what is read from can't be closed
	guard  *guard
	pcap   *pcapgo.NgReader
	info   capture.Info

	seq     uint64 // of the next record
	joined  bool   // seq is known
	open    bool   // asm waits for more records of its block
	asm     capture.Block
	harmed  bool // something is missing between the last block given and what comes
	given   bool
	end     capture.Tick // of the last block given
	level   capture.Level
	from    capture.Tick // blocks that end by then are passed over; seeking only
	seeking bool
	closing *record.Ending
	closeAt capture.Tick

	spans []Span
	first int // of spans, the first that does not know yet where good blocks go on
	notes []Note
	err   error
}

// Recognise tells whether a file that begins so is a capture file of this kind, of either byte order.
func Recognise(head []byte) bool {
	return len(head) >= 12 && string(head[:4]) == "\x0A\x0D\x0D\x0A" &&
		(string(head[8:12]) == "\x4D\x3C\x2B\x1A" || string(head[8:12]) == "\x1A\x2B\x3C\x4D")
}

// Open reads a log up to its head.
func Open(r io.Reader, name string, opt Options) (*Reader, error) {
	d := newReader(r, 0, name, opt.Size)
	if err := d.head(); err != nil {
		return nil, err
	}
	return d, nil
}

func newReader(r io.Reader, off int64, name string, size int64) *Reader {
	d := &Reader{info: capture.Info{Name: name, Format: "pcapng", Size: size}}
	d.closer, _ = r.(io.Closer)
	d.guard = newGuard(r, off, d.strange)
	return d
}

// head reads the first record, which must be the head.
func (r *Reader) head() (err error) {
	if !r.guard.win.need(28) {
		if err := r.guard.win.failed(); err != nil {
			return err
		}
		return r.blame(0, "a section header block of 28 bytes", fmt.Sprintf("a file of %d bytes", len(r.guard.win.buf)))
	}
	if !Recognise(r.guard.win.buf) {
		return r.blame(0, "a section header block", capture.Quote(r.guard.win.buf[:12]))
	}
	if r.pcap, err = pcapgo.NewNgReader(r.guard, pcapgo.NgReaderOptions{WantMixedLinkType: true}); err != nil {
		return err // of the guard's own making: it can only be that of r
	}
	h, body, err := r.record()
	switch {
	case errors.Is(err, io.EOF) && r.guard.cut >= 0 && r.guard.foreign == 0:
		return r.torn()
	case errors.Is(err, io.EOF):
		return r.blame(r.guard.win.off, "the head record of a recording", r.others())
	case err != nil:
		return err
	case h.Kind != record.Head:
		return r.blame(r.guard.at, "the head record of a recording", fmt.Sprintf("a record of %v: the head is damaged", h.Kind))
	}
	m, err := record.DecodeHead(body)
	if err != nil {
		return r.blame(r.guard.at, "the head of a recording", err.Error())
	}
	i := &r.info
	i.Clock, i.Tap, i.Start, i.Levels, i.Volts, i.FullScale, i.Relative = m.Clock, m.Tap, m.Start, m.Levels, m.Volts, m.FullScale, m.Relative
	r.seq, r.joined = h.Seq+1, true
	return nil
}

// others says what a file holds that is no log.
func (r *Reader) others() string {
	if r.guard.foreign == 0 {
		return "no packet"
	}
	links := make([]string, 0, len(r.guard.links))
	for _, l := range r.guard.links[:min(len(r.guard.links), 8)] {
		links = append(links, fmt.Sprint(l))
	}
	return fmt.Sprintf("packets of other kinds (%d, link types %s)", r.guard.foreign, strings.Join(links, ", "))
}

// record is the next sound record.
func (r *Reader) record() (h record.Header, body []byte, err error) {
	p, _, err := r.pcap.ZeroCopyReadPacketData()
	if err != nil {
		return h, nil, err
	}
	return record.Parse(p)
}

func (r *Reader) blame(at int64, expected, found string) error {
	e := &capture.FormatError{Name: r.info.Name, Offset: at, Expected: expected, Found: found}
	if r.given {
		e.Time = text.Seconds(r.info.Clock, r.end)
	}
	return e
}

// Info is that of the head.
func (r *Reader) Info() capture.Info { return r.info }

// BytesRead is how many bytes were taken from the file so far. It may be called from any goroutine.
func (r *Reader) BytesRead() int64 { return r.guard.win.read.Load() }

// Damage lists the damaged stretches passed so far, at most 1,024.
func (r *Reader) Damage() []Span { return r.spans }

// Notes lists the notes passed so far, at most 1,024.
func (r *Reader) Notes() []Note { return r.notes }

// Close closes what is read from if that can be closed.
func (r *Reader) Close() error {
	if r.closer == nil {
		return nil
	}
	return r.closer.Close()
}

// Torn tells whether an error of a Reader says that the file ends before its end record: all that was given until then is
// sound, the rest was not written or was lost.
func Torn(err error) bool {
	var t *tornError
	return errors.As(err, &t)
}

// tornError marks the error of a file that ends too soon.
type tornError struct{}

func (*tornError) Error() string { return "the recording was not ended" }

// torn is the error for the end of a file without an end record.
func (r *Reader) torn() error {
	g := r.guard
	e := &capture.FormatError{Name: r.info.Name, Offset: g.win.off, Expected: "the end record", Found: "the end of the file", Err: &tornError{}}
	if g.cut >= 0 {
		e.Offset, e.Expected, e.Found = g.cut, "a whole block", "the end of the file inside it"
	}
	if r.given {
		e.Time = text.Seconds(r.info.Clock, r.end)
	}
	return e
}
