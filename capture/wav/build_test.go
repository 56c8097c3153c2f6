package wav_test

import (
	"encoding/binary"
	"encoding/hex"
	"io"
	"math"
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/wav"
)

// vector is 8000 Hz, one channel, 16 bits, samples 0 16384 -16384 32767, as Python's wave module writes it.
var vector = unhex("52494646 2C000000 57415645 666D7420 10000000 0100 0100 401F0000 803E0000 0200 1000 64617461 08000000 0000 0040 00C0 FF7F")

func unhex(s string) string {
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		panic(err)
	}
	return string(b)
}

func u16(v int) string    { return string(binary.LittleEndian.AppendUint16(nil, uint16(v))) }
func u32(v uint32) string { return string(binary.LittleEndian.AppendUint32(nil, v)) }
func u64(v uint64) string { return string(binary.LittleEndian.AppendUint64(nil, v)) }
func f32(v ...float64) (s string) {
	for _, v := range v {
		s += u32(math.Float32bits(float32(v)))
	}
	return s
}
func f64(v ...float64) (s string) {
	for _, v := range v {
		s += u64(math.Float64bits(v))
	}
	return s
}

// riff is a file of chunks with a right size.
func riff(chunks ...string) string {
	all := "WAVE" + strings.Join(chunks, "")
	return "RIFF" + u32(uint32(len(all))) + all
}

// rf64 is a file of chunks behind a ds64 chunk that declares so many bytes of data.
func rf64(data uint64, chunks ...string) string {
	return "RF64" + u32(math.MaxUint32) + "WAVE" + ck("ds64", u64(0)+u64(data)+u64(0)+u32(0)) + strings.Join(chunks, "")
}

// ck is a chunk with its padding; declared is a chunk that says another size and has no padding.
func ck(id, body string) string {
	s := declared(id, uint32(len(body)), body)
	if len(body)%2 == 1 {
		s += "\x00"
	}
	return s
}

func declared(id string, size uint32, body string) string { return id + u32(size) + body }

func form(codec, channels int, rate uint32, align, bits int, more ...string) string {
	return ck("fmt ", u16(codec)+u16(channels)+u32(rate)+u32(12345)+u16(align)+u16(bits)+strings.Join(more, ""))
}

// pcm is one channel of so many bits at 1000 Hz; float is the same in floating point.
func pcm(bits int) string   { return form(1, 1, 1000, (bits+7)/8, bits) }
func float(bits int) string { return form(3, 1, 1000, bits/8, bits, u16(0)) }

// guid is the sub-format of a codec.
func guid(codec int) string { return u16(codec) + unhex("0000 0000 1000 8000 00AA00389B71") }

func extensible(channels, align, bits, valid int, guid string) string {
	return form(0xFFFE, channels, 1000, align, bits, u16(22)+u16(valid)+u32(0)+guid)
}

func format(opt wav.Options) capturetest.Format {
	return func(r io.Reader, limit int) (capture.Source, error) {
		opt.BlockSamples = limit
		s, err := wav.Open(r, "t.wav", opt)
		if err != nil {
			return nil, err
		}
		return s, nil
	}
}

// expect reads data whole and in pieces and compares with content and error as text.
func expect(t *testing.T, data string, opt wav.Options, want, wantErr string) {
	t.Helper()
	got, err := format(opt).Read([]byte(data))
	found := ""
	if err != nil {
		found = err.Error()
	}
	if found != wantErr {
		t.Errorf("error\ngot  %s\nwant %s", found, wantErr)
	}
	if got.Blocks == 0 && want != "" || got.Blocks > 0 && got.String() != want {
		t.Errorf("content\ngot  %s\nwant %s", got.String(), want)
	}
	format(opt).Sizes(t, []byte(data))
}
