// Package record is the codec of the log: a block, a note or the head of a recording to bytes and back, without any file.
//
// A record is a header of 40 bytes, little-endian, and a body:
//
//	 0 u8  version, 1
//	 1 u8  kind: 1 head, 2 levels, 3 volts, 4 octets, 5 note, 6 index, 7 end
//	 2 u16 flags: 1 more records of the block follow, 2 a gap stands before it, 4 levels alternate,
//	       8 goes on with the block of the record before
//	 4 u32 length of the body, up to 4 MiB
//	 8 u64 sequence number
//	16 i64 start tick
//	24 i64 end tick
//	32 u32 count of transitions, samples, octets or index entries, up to 65,536
//	36 u32 CRC-32C of bytes 0 to 35 and the body
//
// Bodies (uvarint and zigzag varint as in the Protocol Buffers encoding):
//
//	block   with flag 2: u8 why, varint count, uvarint span of the gap, which ends where the block starts; then by kind
//	levels  u8 levels (bits 0-1 at the start, 2-3 entered first, 4-5 second, 6 doubts follow); instants;
//	        without flag 4: a bit for each transition but the first, the upper of the two other levels; doubts as whole numbers
//	volts   instants; u8 0 float64, 1 float32, 2 f64 step, 3 f64 divisor; floats, or whole numbers to multiply or divide
//	octets  u8 bits: 1 wide, 2 a side each, 4 some bad; u8 side of the first; sides of the others; values of 1 or 2 bytes;
//	        bits of the bad ones; varint differences of the instants, the first from the start
//	head    JSON, keys see metaJSON
//	note    UTF-8
//	index   for each entry varint differences of start, offset and sequence to the entry before
//	end     uvarint records, varint offset of the last index, u8 1: the recording goes on in another file
//	instants, where there are any: u8 0 varints, 1 even, 2 units; uvarint first one from the start; then varints of
//	        interval-1, the one interval, or uvarint unit, varint bases, three Rice parameters and bits (see units)
//	whole numbers: chunks of 256, see chunk
//
// What is decoded is what was encoded, bit for bit, for every block that keeps the rules of capturetest.Check and whose first
// level is one of capture's four. The encoder's choice of units, orders and parameters changes only the length.
package record
