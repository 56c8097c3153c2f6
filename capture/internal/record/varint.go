package record

import "encoding/binary"

func zigzag(v int64) uint64   { return uint64(v)<<1 ^ uint64(v>>63) }
func unzigzag(z uint64) int64 { return int64(z>>1) ^ -int64(z&1) }

func appendUvarint(dst []byte, v uint64) []byte { return binary.AppendUvarint(dst, v) }
func appendVarint(dst []byte, v int64) []byte   { return binary.AppendUvarint(dst, zigzag(v)) }

// reader takes fields off the front of p. bad sticks: twenty fields need one check.
type reader struct {
	p   []byte
	bad bool
}

func (r *reader) uvarint() uint64 {
	v, n := binary.Uvarint(r.p)
	if n <= 0 {
		r.p, r.bad = nil, true
		return 0
	}
	r.p = r.p[n:]
	return v
}

func (r *reader) varint() int64 { return unzigzag(r.uvarint()) }

func (r *reader) byte() byte {
	if p := r.take(1); p != nil {
		return p[0]
	}
	return 0
}

// take is the next n bytes, nil where there are fewer.
func (r *reader) take(n int) []byte {
	if n < 0 || n > len(r.p) {
		r.p, r.bad = nil, true
		return nil
	}
	p := r.p[:n]
	r.p = r.p[n:]
	return p
}
