package pcapng

import (
	"io"

	"linewitness/capture"
)

// Interfaces of a log, by number; the link type is 147 and the number.
const (
	faceLevels = iota
	faceVolts
	faceOctets
	faceControl
	faces

	linkUser0 = 147
)

// Types of blocks (clause 4 of the draft).
const (
	blockSection   = 0x0A0D0D0A
	blockInterface = 0x00000001
	blockPacket    = 0x00000006
	byteOrderMagic = 0x1A2B3C4D

	mostBlock = 8 << 20 // bytes of a block that the reader takes; a record needs little more than 4 MiB
)

// FS is what the writer needs of a file system.
type FS interface {
	Create(name string) (File, error)
	Rename(old, new string) error
	Remove(name string) error
	SyncDir(dir string) error
}

// File is an open file to append to.
type File interface {
	io.Writer
	Sync() error
	Close() error
}

// WriteOptions of NewWriter. The zero value writes one file, however long.
type WriteOptions struct {
	MaxBytes int64        // a new file before one grows beyond; 0: never
	MaxSpan  capture.Tick // a new file after so much of the recording; 0: never
}

// Span is a damaged stretch of a file.
type Span struct {
	Offset, Length int64        // bytes; Length 0: whole records are missing there
	From, To       capture.Tick // of the recording; To is the start of the next good block
}
