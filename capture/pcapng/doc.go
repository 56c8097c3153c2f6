// Package pcapng keeps recordings in the log: an open capture file (IETF draft-ietf-opsawg-pcapng) that holds transitions, volts,
// octets, gaps and notes, can be read up to the last synced block after a crash, and opens at any time of a long recording.
//
//	section header block      byte order little-endian, comment, application
//	interface description 0   link type USER0 (147): levels
//	interface description 1   link type USER1 (148): volts
//	interface description 2   link type USER2 (149): octets
//	interface description 3   link type USER3 (150): head, notes, index, end
//	enhanced packet block     a record each, as package record draws it: 40 bytes of header with length, sequence and
//	...                       CRC-32C over header and body, then the body
//
// The first record is the head, the last but one the index, the last the end. A packet's time is its record's start in
// nanoseconds: since the Unix epoch where the wall time is known, else since the axis' zero. One block of a recording is one to
// three records in a row (levels, volts, octets), more where it has more than 65,536 of a kind.
//
// A reader gives one of three answers: a clean end (io.EOF after the end record), a torn tail (see Torn; everything before it was
// given), or damage in the middle (a gap in the block after it, and Reader.Damage).
package pcapng
