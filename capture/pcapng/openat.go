package pcapng

import (
	"encoding/binary"
	"errors"
	"io"
	"sort"

	"github.com/google/gopacket/pcapgo"

	"linewitness/capture"
	"linewitness/capture/internal/record"
)

// OpenAt opens a log at an instant: blocks that end by then are not given. It reads the head, the end and the index, or
// where there is none, since the recording was not ended or is still being written, some places on the way to the instant;
// then what follows. Close closes in if that can be closed.
func OpenAt(in io.ReaderAt, size int64, name string, from capture.Tick) (*Reader, error) {
	first := newReader(io.NewSectionReader(in, 0, size), 0, name, size)
	if err := first.head(); err != nil {
		return nil, err
	}
	place := record.IndexEntry{Offset: first.guard.win.off, Seq: first.seq}
	if entries := findIndex(in, size); len(entries) > 0 {
		if i := sort.Search(len(entries), func(i int) bool { return entries[i].Start > from }); i > 0 {
			place = entries[i-1]
		}
	} else {
		place = bisect(in, size, place, from)
	}
	d := newReader(io.NewSectionReader(in, place.Offset, size-place.Offset), place.Offset, name, size)
	if c, ok := in.(io.Closer); ok {
		d.closer = c
	}
	d.info, d.seq, d.joined = first.info, place.Seq, true
	d.from, d.seeking = from, true
	d.end = place.Start // if the block there is lost, the time is from there on
	var err error
	d.pcap, err = pcapgo.NewNgReader(d.guard, pcapgo.NgReaderOptions{WantMixedLinkType: true})
	return d, err
}

// findIndex reads the index at the end of a file; nil where there is none that can be trusted.
func findIndex(in io.ReaderAt, size int64) []record.IndexEntry {
	h, body, ok := blockBefore(in, size)
	if !ok || h.Kind != record.End {
		return nil
	}
	e, err := record.DecodeEnd(body)
	if err != nil || e.Index <= 0 {
		return nil
	}
	h, body, ok = blockAt(in, e.Index, size)
	if !ok || h.Kind != record.Index {
		return nil
	}
	entries, err := record.DecodeIndex(body)
	if err != nil || !ordered(entries, size) {
		return nil
	}
	return entries
}

// ordered tells whether an index fits its file.
func ordered(entries []record.IndexEntry, size int64) bool {
	for i, e := range entries {
		if e.Offset < 0 || e.Offset >= size || i > 0 && (e.Start < entries[i-1].Start || e.Offset <= entries[i-1].Offset) {
			return false
		}
	}
	return true
}

// blockBefore is the record in the block that ends at an offset.
func blockBefore(in io.ReaderAt, end int64) (h record.Header, body []byte, ok bool) {
	var tail [4]byte
	if end < 12 || !readAt(in, tail[:], end-4) {
		return h, nil, false
	}
	n := int64(binary.LittleEndian.Uint32(tail[:]))
	if n < 12 || n > end {
		return h, nil, false
	}
	return blockAt(in, end-n, end)
}

// blockAt is the record in the block at an offset.
func blockAt(in io.ReaderAt, at, end int64) (h record.Header, body []byte, ok bool) {
	g := newGuard(io.NewSectionReader(in, at, end-at), at, func(Span) {})
	n, found := g.look()
	if found != isRecord {
		return h, nil, false
	}
	h, body, err := record.Parse(packetData(g.order, g.win.buf[:n]))
	return h, body, err == nil
}

func readAt(in io.ReaderAt, p []byte, at int64) bool {
	n, err := in.ReadAt(p, at)
	return n == len(p) && (err == nil || errors.Is(err, io.EOF))
}

// closeEnough is the distance of two places in a file at which reading on is quicker than looking further.
const closeEnough = 256 << 10

// bisect looks for the last block that begins by an instant. Start ticks rise through the file.
func bisect(in io.ReaderAt, size int64, place record.IndexEntry, from capture.Tick) record.IndexEntry {
	lo, hi := place.Offset, size
	for hi-lo > closeEnough {
		mid := lo + (hi-lo)/2
		e, ok := blockAfter(in, mid, hi)
		if !ok || e.Start > from {
			hi = mid
			continue
		}
		place, lo = e, max(e.Offset, mid)
	}
	return place
}

// blockAfter is the first whole record after an offset that begins a block.
func blockAfter(in io.ReaderAt, at, end int64) (e record.IndexEntry, ok bool) {
	g := newGuard(io.NewSectionReader(in, at, end-at), at, func(Span) {})
	pcap, err := pcapgo.NewNgReader(g, pcapgo.NgReaderOptions{WantMixedLinkType: true})
	for err == nil {
		var p []byte
		if p, _, err = pcap.ZeroCopyReadPacketData(); err != nil {
			break
		}
		h, _, err := record.Parse(p)
		if err == nil && h.Flags&record.FlagPart == 0 && (h.Kind == record.Levels || h.Kind == record.Volts || h.Kind == record.Octets) {
			return record.IndexEntry{Start: h.Start, Offset: g.at, Seq: h.Seq}, true
		}
	}
	return e, false
}
