package record

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"linewitness/capture"
)

// IndexEntry says where a block begins: its first record has sequence Seq and stands Offset bytes from the file's start.
type IndexEntry struct {
	Start  capture.Tick
	Offset int64
	Seq    uint64
}

// Ending is what an end record says about the file it closes.
type Ending struct {
	Records uint64 // in this file, without the end record
	Index   int64  // where the last index record stands, bytes from the file's start; 0: none
	More    bool   // the recording goes on in the next file
}

// AppendNote appends a note at an instant. Text is cut to MaxText bytes, and made valid UTF-8.
func AppendNote(dst []byte, seq uint64, at capture.Tick, text string) []byte {
	from := len(dst)
	dst = append(open(dst), cutText(text, MaxText)...)
	seal(dst[from:], &Header{Kind: Note, Seq: seq, Start: at, End: at})
	return dst
}

// DecodeNote reads the body of a note.
func DecodeNote(body []byte) (string, error) {
	if len(body) > MaxText || !utf8.Valid(body) {
		return "", broken(fmt.Sprintf("at most %d bytes of UTF-8", MaxText), fmt.Sprintf("%d bytes", len(body)))
	}
	return string(body), nil
}

// AppendEnd appends an end record; at is the end of the last block.
func AppendEnd(dst []byte, seq uint64, at capture.Tick, e Ending) []byte {
	from := len(dst)
	dst = appendUvarint(open(dst), e.Records)
	dst = appendVarint(dst, e.Index)
	dst = append(dst, boolByte(e.More))
	seal(dst[from:], &Header{Kind: End, Seq: seq, Start: at, End: at})
	return dst
}

// DecodeEnd reads the body of an end record.
func DecodeEnd(body []byte) (Ending, error) {
	r := reader{p: body}
	e := Ending{Records: r.uvarint(), Index: r.varint()}
	more := r.byte()
	if e.More = more == 1; r.bad || more > 1 || e.Index < 0 || len(r.p) > 0 {
		return Ending{}, broken("an end record", capture.Quote(body))
	}
	return e, nil
}

// AppendIndex appends an index of at most MaxCount entries, the rest is left out.
func AppendIndex(dst []byte, seq uint64, entries []IndexEntry) []byte {
	entries = entries[:min(len(entries), MaxCount)]
	h := Header{Kind: Index, Seq: seq, Count: uint32(len(entries))}
	from := len(dst)
	dst = open(dst)
	var last IndexEntry
	for i, e := range entries {
		if i == 0 {
			h.Start, h.End = e.Start, e.Start
		}
		h.Start, h.End = min(h.Start, e.Start), max(h.End, e.Start)
		dst = appendVarint(dst, int64(e.Start-last.Start)) // differences may wrap: they wrap back
		dst = appendVarint(dst, e.Offset-last.Offset)
		dst = appendVarint(dst, int64(e.Seq-last.Seq))
		last = e
	}
	seal(dst[from:], &h)
	return dst
}

// DecodeIndex reads the body of an index record. Whether the entries fit the file is for the caller to see.
func DecodeIndex(body []byte) ([]IndexEntry, error) {
	const shortest = 3 // bytes of an entry
	entries := make([]IndexEntry, 0, min(len(body)/shortest, MaxCount))
	var last IndexEntry
	for r := (reader{p: body}); len(r.p) > 0; {
		last.Start += capture.Tick(r.varint())
		last.Offset += r.varint()
		last.Seq += uint64(r.varint())
		if r.bad || len(entries) == MaxCount {
			return nil, broken(fmt.Sprintf("at most %d whole index entries", MaxCount), fmt.Sprintf("%d and a rest", len(entries)))
		}
		entries = append(entries, last)
	}
	return entries, nil
}

// cutText is at most n bytes of s, in whole characters and valid.
func cutText(s string, n int) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	if len(s) <= n {
		return s
	}
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n]
}

func boolByte(b bool) byte {
	if b {
		return 1
	}
	return 0
}
