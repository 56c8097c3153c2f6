package pcapng

import (
	"errors"
	"fmt"
	"io"
	"time"

	"linewitness/capture"
	"linewitness/capture/internal/record"
)

const bufferSize = 64 << 10

// Writer writes a log. What was given before a call of Sync or Close that returned nil is on the disk and stays readable
// whatever happens afterwards. After an error of the disk nothing more is written: every call gives that error. A block
// that breaks the rules is refused, and leaves the log as it was. Not for several goroutines at once.
type Writer struct {
	files  files
	opt    WriteOptions
	info   capture.Info
	levels bool // every block has its record of levels

	buf     []byte // whole packets that are not handed to the file yet
	block   []byte // packets of the block at hand
	scratch []byte
	piece   capture.Block                      // the block at hand on its file's own axis
	size    int64                              // bytes of this file, those in buf included
	seq     uint64                             // of the next record
	first   uint64                             // of this file's first record
	since   capture.Tick                       // this file's zero
	epoch   uint64                             // nanoseconds since 1970 of this file's zero; 0 where the wall time is not known
	from    capture.Tick                       // start of this file's first block, on the recording's axis
	each    func([]byte, *record.Header) error // packet, made a value once
	index   index
	any     bool // this file has blocks
	begun   bool // the recording has
	last    capture.Block
	err     error
	closed  bool
}

// NewWriter begins a log in a file that stands under its name once its head is on the disk, and further files as opt
// says: of a.pcapng these are a.1.pcapng, a.2.pcapng and so on, each a whole log of its part.
func NewWriter(fs FS, name string, info capture.Info, opt WriteOptions) (*Writer, error) {
	return begin(files{fs: fs, name: name}, info, opt)
}

// WriteTo begins a log in an output that cannot be synced or opened anew. Close does not close it.
func WriteTo(out io.Writer, info capture.Info) (*Writer, error) {
	return begin(files{file: plain{out}}, info, WriteOptions{})
}

// plain is an output that is just written to.
type plain struct{ io.Writer }

func (plain) Sync() error  { return nil }
func (plain) Close() error { return nil }

func begin(f files, info capture.Info, opt WriteOptions) (*Writer, error) {
	if !info.Clock.Valid() {
		return nil, fmt.Errorf("pcapng: expected a clock above 0, found %d ticks in %d seconds", info.Clock.Num, info.Clock.Den)
	}
	w := &Writer{files: f, opt: opt, info: info, levels: info.Levels || !info.Volts, buf: make([]byte, 0, bufferSize)}
	w.each = w.packet
	if err := w.open(0); err != nil {
		return nil, err
	}
	return w, nil
}

// open begins the next file, whose zero is an instant of the recording.
func (w *Writer) open(zero capture.Tick) error {
	if err := w.files.create(); err != nil {
		return err
	}
	meta := record.MetaOf(&w.info)
	meta.Part, meta.Since = w.files.part, zero
	w.since, w.epoch = zero, 0
	if !meta.Start.IsZero() {
		meta.Start = meta.Start.Add(time.Duration(nanoseconds(zero, w.info.Clock)))
		if y := meta.Start.Year(); y >= 1970 && y < 2262 { // what nanoseconds of 63 bits can tell
			w.epoch = uint64(max(meta.Start.UnixNano(), 0))
		}
	}
	w.any, w.size, w.first = false, 0, w.seq
	w.index.reset()
	w.buf = appendSection(w.buf[:0])
	w.size = int64(len(w.buf))
	w.scratch = record.AppendHead(w.scratch[:0], w.seq, &meta)
	w.control(0)
	err := w.flush()
	if err == nil {
		err = w.files.stand()
	}
	if err != nil {
		w.files.drop()
	}
	return err
}

// control appends the record in scratch, which belongs to the control interface.
func (w *Writer) control(at capture.Tick) {
	n := len(w.buf)
	w.buf = appendPacket(w.buf, faceControl, w.time(at), w.scratch)
	w.size += int64(len(w.buf) - n)
	w.seq++
}

// time is a packet's time for an instant on this file's axis.
func (w *Writer) time(at capture.Tick) uint64 { return w.epoch + nanoseconds(at, w.info.Clock) }

// Write appends a block, which must follow the one before.
func (w *Writer) Write(b *capture.Block) error {
	if err := w.usable(); err != nil {
		return err
	}
	if err := w.follows(b); err != nil {
		return err
	}
	seq, err := w.encode(b)
	if err != nil {
		return err
	}
	if w.any && w.full(b) {
		return w.rotate(b)
	}
	return w.append(b, seq)
}

// full tells whether the encoded block b belongs into the next file.
func (w *Writer) full(b *capture.Block) bool {
	return w.opt.MaxSpan > 0 && b.Start-w.from >= w.opt.MaxSpan ||
		w.opt.MaxBytes > 0 && w.size+int64(len(w.block))+w.tail() > w.opt.MaxBytes
}

// follows holds the rules between blocks; those within one are the codec's.
func (w *Writer) follows(b *capture.Block) error {
	g := b.Gap
	switch {
	case b.End-b.Start < 0 || g.To-g.From < 0: // more than a Tick can tell
		return fmt.Errorf("pcapng: expected a block and a gap of less than 2^63 ticks, found %d to %d, gap from %d", b.Start, b.End, g.From)
	case !w.begun:
	case g.Present() && g.From != w.last.End:
		return fmt.Errorf("pcapng: expected a gap from tick %d on, found one from %d", w.last.End, g.From)
	case !g.Present() && b.Start != w.last.End:
		return fmt.Errorf("pcapng: expected a block from tick %d on, found one from %d without a gap before it", w.last.End, b.Start)
	case !g.Present() && b.First != w.last.First: // last.First is the level at its end
		return fmt.Errorf("pcapng: expected a block that begins at level %v, found %v at tick %d", w.last.First, b.First, b.Start)
	}
	return nil
}

// encode makes the packets of b in block, and gives the number of the record after them.
func (w *Writer) encode(b *capture.Block) (seq uint64, err error) {
	w.block = w.block[:0]
	return record.AppendBlock(w.scratch, w.seq, w.shifted(b), w.levels, w.each)
}

// packet makes a packet of a record of the block at hand.
func (w *Writer) packet(rec []byte, h *record.Header) error {
	w.scratch = rec[:0]
	w.block = appendPacket(w.block, faceOf(h.Kind), w.time(h.Start), rec)
	return nil
}

// shifted is b on this file's own axis.
func (w *Writer) shifted(b *capture.Block) *capture.Block {
	if w.since == 0 {
		return b
	}
	p := &w.piece
	b.CopyTo(p)
	p.Start, p.End = p.Start-w.since, p.End-w.since
	if p.Gap.Present() {
		p.Gap.From, p.Gap.To = p.Gap.From-w.since, p.Gap.To-w.since
	}
	for i := range p.At {
		p.At[i] -= w.since
	}
	for i := range p.SampleAt {
		p.SampleAt[i] -= w.since
	}
	for i := range p.Octets {
		p.Octets[i].At -= w.since
	}
	return p
}

// append takes the packets in block into the file.
func (w *Writer) append(b *capture.Block, seq uint64) error {
	if !w.any {
		w.from = b.Start
	}
	w.index.add(record.IndexEntry{Start: b.Start - w.since, Offset: w.size, Seq: w.seq})
	w.buf = append(w.buf, w.block...)
	w.size += int64(len(w.block))
	w.seq, w.any, w.begun = seq, true, true
	w.last.End, w.last.First = b.End, b.Last()
	return w.spill()
}

// spill hands what is gathered to the file where it is enough.
func (w *Writer) spill() error {
	if len(w.buf) < bufferSize {
		return nil
	}
	return w.keep(w.flush())
}

// rotate ends this file and begins the next one with b.
func (w *Writer) rotate(b *capture.Block) error {
	if err := w.finish(true); err != nil {
		return w.keep(err)
	}
	w.files.part++
	if err := w.open(b.Start); err != nil {
		return w.keep(err)
	}
	seq, err := w.encode(b)
	if err != nil {
		return err
	}
	return w.append(b, seq)
}

// tail is more than index and end take.
func (w *Writer) tail() int64 { return int64(len(w.index.entries)+1)*30 + 256 }

// Note appends a note about an instant.
func (w *Writer) Note(at capture.Tick, text string) error {
	if err := w.usable(); err != nil {
		return err
	}
	w.scratch = record.AppendNote(w.scratch[:0], w.seq, at-w.since, text)
	w.control(at - w.since)
	return w.spill()
}

// Sync brings everything given so far to the disk.
func (w *Writer) Sync() error {
	if err := w.usable(); err != nil {
		return err
	}
	err := w.flush()
	if err == nil {
		err = w.files.file.Sync()
	}
	return w.keep(err)
}

// Close ends the log with its index and end, and brings it to the disk.
func (w *Writer) Close() error {
	if w.closed {
		return w.err
	}
	w.closed = true
	if w.err != nil {
		w.files.release()
		return w.err
	}
	return w.keep(w.finish(false))
}

// Files are the names of the files so far.
func (w *Writer) Files() []string { return w.files.names }

// finish ends a file; more tells that another follows.
func (w *Writer) finish(more bool) error {
	ending := record.Ending{Records: w.seq + 1 - w.first, Index: w.size, More: more}
	w.scratch = record.AppendIndex(w.scratch[:0], w.seq, w.index.entries)
	w.control(0)
	end := capture.Tick(0)
	if w.any {
		end = w.last.End - w.since
	}
	w.scratch = record.AppendEnd(w.scratch[:0], w.seq, end, ending)
	w.control(end)
	err := w.flush()
	if err == nil {
		err = w.files.file.Sync()
	}
	if closed := w.files.file.Close(); err == nil {
		err = closed
	}
	return err
}

// flush hands what is gathered to the file.
func (w *Writer) flush() error {
	if len(w.buf) == 0 {
		return nil // an empty write is seen at the other end of a pipe
	}
	n, err := w.files.file.Write(w.buf)
	if err == nil && n < len(w.buf) {
		err = io.ErrShortWrite
	}
	w.buf = w.buf[:0]
	return err
}

var errClosed = errors.New("pcapng: the log is closed")

func (w *Writer) usable() error {
	if w.err == nil && w.closed {
		return errClosed
	}
	return w.err
}

// keep keeps the first error.
func (w *Writer) keep(err error) error {
	if w.err == nil {
		w.err = err
	}
	return w.err
}
