// Package wav reads and writes recordings of volts as WAV.
//
// Sources: Microsoft and IBM, Multimedia Programming Interface and Data Specifications 1.0 (1991), RIFF and WAVE;
// Microsoft, Multiple Channel Audio Data and WAVE Files (WAVE_FORMAT_EXTENSIBLE); EBU Tech 3306 (RF64, ds64). All
// numbers are little-endian; a chunk of odd size is followed by one byte of padding.
//
//	offset size
//	0      4     "RIFF", or "RF64" where sizes need 64 bits
//	4      4     bytes that follow; FFFFFFFF in RF64
//	8      4     "WAVE"
//	then chunks, each 4 bytes of name, 4 of size, the content:
//	"ds64" 28+   RF64 only, first: 8 RIFF size, 8 data size, 8 samples, 4 entries of a table that follows
//	"fmt " 16+   2 codec, 2 channels, 4 samples a second, 4 bytes a second, 2 bytes of all channels, 2 bits,
//	             and for codec FFFE from 18 on: 2 valid bits, 4 speakers, 16 codec (GUID)
//	"data"       samples: of channel 1, 2, ..., 1, 2, ...
//
// Integers of up to 8 bits are unsigned about 128, longer ones signed; bits that don't fill their bytes stand at the
// top. 1.0, which is one step above the greatest integer, stands for FullScale volts. Sample i is at tick 1024*i, and
// the recording lasts until 1024 ticks after the last sample. A floating-point sample that is no finite number is a
// lost interval until the next one that is.
//
// A data size of 0 or FFFFFFFF is what stands in a stream whose writer could not come back to correct it: such a
// recording lasts to the end of the file. So do sizes from 7FFFF000 to 7FFFFFFF, which some writers leave in a pipe
// (from memory, no source), unless the file is known to be that long. Any other recording that ends early was cut.
package wav
