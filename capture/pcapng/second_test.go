package pcapng_test

import (
	"bytes"
	"encoding/binary"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/internal/record"
	"linewitness/capture/pcapng"
)

// rLog is a second writer of logs, as the draft and the package comment say and by no other code than the records'. It
// remembers where everything stands.
type rLog struct {
	data   []byte
	seq    uint64
	levels bool
	head   int64         // end of the head record
	blocks []rBlock      // of the recording
	places [][2]int64    // of every packet block after the head: begin, end
	notes  []pcapng.Note //
	noIdx  bool          // without an index
}

type rBlock struct {
	capture.Block
	at, end int64
}

var rStart = time.Date(2026, 3, 14, 9, 26, 53, 0, time.UTC)

func rMeta() *record.Meta {
	return &record.Meta{
		Name: "r.vcd", Format: "vcd", Clock: capture.Clock{Num: 1e6, Den: 1}, Tap: capture.BoardPin, Start: rStart,
		Levels: true, Volts: true, FullScale: 30,
	}
}

// rWord appends numbers of 32 bits, little-endian.
func rWord(b []byte, words ...uint32) []byte {
	for _, w := range words {
		b = binary.LittleEndian.AppendUint32(b, w)
	}
	return b
}

// rBox wraps a body into a block.
func rBox(kind uint32, body []byte) []byte {
	for len(body)%4 != 0 {
		body = append(body, 0)
	}
	n := uint32(len(body) + 12)
	return rWord(append(rWord(nil, kind, n), body...), n)
}

func rSection() []byte {
	return rBox(0x0A0D0D0A, append(rWord(nil, 0x1A2B3C4D, 1, 0xFFFFFFFF, 0xFFFFFFFF), "\x01\x00\x03\x00log\x00\x00\x00\x00\x00"...))
}

func rInterface(link uint32, options ...byte) []byte {
	return rBox(1, append(rWord(nil, link, 0), options...))
}

func rPacket(face uint32, data []byte) []byte {
	n := uint32(len(data))
	return rBox(6, append(rWord(nil, face, 0x1234, 0x56789ABC, n, n), data...))
}

func rBegin(m *record.Meta, seq uint64) *rLog {
	l := &rLog{data: rSection(), seq: seq, levels: m.Levels}
	for i := range uint32(4) {
		l.data = append(l.data, rInterface(147+i, 9, 0, 1, 0, 9, 0, 0, 0, 0, 0, 0, 0)...)
	}
	l.data = append(l.data, rPacket(3, record.AppendHead(nil, seq, m))...)
	l.head = int64(len(l.data))
	l.seq++
	return l
}

func (l *rLog) packet(face uint32, rec []byte) {
	at := int64(len(l.data))
	l.data = append(l.data, rPacket(face, rec)...)
	l.places = append(l.places, [2]int64{at, int64(len(l.data))})
}

func (l *rLog) block(t testing.TB, b *capture.Block) {
	t.Helper()
	at := int64(len(l.data))
	next, err := record.AppendBlock(nil, l.seq, b, l.levels, func(rec []byte, h *record.Header) error {
		l.packet(uint32(h.Kind-record.Levels), rec)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	l.seq = next
	k := rBlock{at: at, end: int64(len(l.data))}
	b.CopyTo(&k.Block)
	l.blocks = append(l.blocks, k)
}

func (l *rLog) note(at capture.Tick, text string) {
	l.packet(3, record.AppendNote(nil, l.seq, at, text))
	l.notes = append(l.notes, pcapng.Note{At: at, Text: text})
	l.seq++
}

func (l *rLog) end() {
	var at int64
	if !l.noIdx {
		var index []record.IndexEntry
		for _, b := range l.blocks {
			h, _, _ := record.Parse(l.data[b.at+28:][:binary.LittleEndian.Uint32(l.data[b.at+20:])])
			index = append(index, record.IndexEntry{Start: b.Start, Offset: b.at, Seq: h.Seq})
		}
		at = int64(len(l.data))
		l.packet(3, record.AppendIndex(nil, l.seq, index))
		l.seq++
	}
	var last capture.Tick
	if n := len(l.blocks); n > 0 {
		last = l.blocks[n-1].End
	}
	l.packet(3, record.AppendEnd(nil, l.seq, last, record.Ending{Records: l.seq, Index: at}))
	l.seq++
}

// rResult is all that a reader says.
type rResult struct {
	blocks []capture.Block
	damage []pcapng.Span
	notes  []pcapng.Note
	err    error // io.EOF at a clean end
}

// rRead reads data to its end, and tests the rules of every source on the way.
func rRead(t testing.TB, data []byte) rResult {
	t.Helper()
	r, err := pcapng.Open(bytes.NewReader(data), "r.pcapng", pcapng.Options{Size: int64(len(data))})
	if err != nil {
		return rResult{err: err}
	}
	return rDrain(t, r)
}

func rDrain(t testing.TB, r *pcapng.Reader) (got rResult) {
	t.Helper()
	for {
		var b capture.Block
		if got.err = r.Next(&b); got.err != nil {
			break
		}
		var prev *capture.Block
		if n := len(got.blocks); n > 0 {
			prev = &got.blocks[n-1]
		}
		if err := capturetest.Check(prev, &b); err != nil {
			t.Errorf("block %d: %v", len(got.blocks), err)
		}
		got.blocks = append(got.blocks, b)
	}
	var b capture.Block
	if again := r.Next(&b); again != got.err {
		t.Errorf("error %v was not kept: %v", got.err, again)
	}
	got.damage, got.notes = r.Damage(), r.Notes()
	return got
}

func rDiff(want, got any) string { return cmp.Diff(want, got, cmpopts.EquateEmpty()) }

// original is the index of the block that b is but for its gap; -1: it is none.
func (l *rLog) original(b *capture.Block) int {
	for i, k := range l.blocks {
		same := k.Block
		same.Gap = b.Gap
		if k.Start == b.Start && rDiff(same, *b) == "" {
			return i
		}
	}
	return -1
}

// original blocks that got has, in order; the empty one that closes a damaged log is left out. Anything else is an error.
func (l *rLog) given(t testing.TB, got rResult) (index []int) {
	t.Helper()
	for n, b := range got.blocks {
		i := l.original(&b)
		if i < 0 && n == len(got.blocks)-1 && b.Start == b.End && b.Gap.Why == capture.GapDamaged && b.Start == l.blocks[len(l.blocks)-1].End {
			continue
		}
		if i < 0 || len(index) > 0 && i <= index[len(index)-1] {
			t.Fatalf("block %d, [%d, %d], is none of the recording or none in order: %+v", n, b.Start, b.End, b)
		}
		index = append(index, i)
	}
	return index
}
