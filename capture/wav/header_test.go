package wav_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/capture/wav"
)

func TestHeaders(t *testing.T) {
	const two, none = "0..2048 unknown 0:0.5V 1024:-0.5V", "0..0 unknown"
	const cut = "t.wav: byte 48: at 0.002 s: expected 1073741820 samples as declared, found the end of the file after 2 samples: it was cut"
	samples, odd := unhex("0040 00C0"), ck("odd!", "abc")
	inData := func(size uint32, more string) string { return riff(pcm(16), declared("data", size, samples+more)) }
	for _, c := range []struct {
		name, data string
		opt        wav.Options
		want, err  string
	}{
		{"chunks about", riff(odd, ck("bext", strings.Repeat("x", 602)), pcm(16), ck("fact", u32(2)), ck("data", samples), odd), wav.Options{}, two, ""},
		{"part of a chunk behind", riff(pcm(16), ck("data", samples)) + "LIST\x00", wav.Options{}, two, ""},
		{"wrong RIFF size", strings.Replace(riff(pcm(16), ck("data", samples)), u32(40), u32(7), 1), wav.Options{}, two, ""},
		{"long fmt", riff(form(1, 1, 1000, 2, 16, strings.Repeat("x", 100)), ck("data", samples)), wav.Options{}, two, ""},
		{"odd fmt", riff(form(1, 1, 1000, 2, 16, "x"), ck("data", samples)), wav.Options{}, two, ""},
		{"size 0 of a stream", inData(0, ""), wav.Options{}, two, ""},
		{"sizes 0 of a stream", strings.Replace(inData(0, ""), u32(40), u32(0), 1), wav.Options{}, two, ""},
		{"size FFFFFFFF of a stream", inData(math.MaxUint32, ""), wav.Options{}, two, ""},
		{"size 7FFFF024 of a stream", inData(0x7FFFF024, ""), wav.Options{}, two, ""},
		{"size 7FFFF024 of a file", inData(0x7FFFF024, ""), wav.Options{Size: 0x7FFFF024 + 44}, two,
			"t.wav: byte 48: at 0.002 s: expected 1073739794 samples as declared, found the end of the file after 2 samples: it was cut"},
		{"size 7FFFEFF8 is a size", inData(0x7FFFEFF8, ""), wav.Options{}, two, strings.Replace(cut, "1073741820", "1073739772", 1)},
		{"stream cut in a sample", inData(math.MaxUint32, "x"), wav.Options{}, two,
			"t.wav: byte 49: at 0.002 s: expected a whole sample of 2 bytes, found the end of the file after 1 byte: it was cut"},
		{"empty stream", riff(pcm(16), declared("data", math.MaxUint32, "")), wav.Options{}, none, ""},
		{"cut at once", riff(pcm(16), declared("data", 4, "")), wav.Options{}, "",
			"t.wav: byte 44: at 0 s: expected 2 samples as declared, found the end of the file after 0 samples: it was cut"},
		{"RF64", rf64(4, pcm(16), declared("data", math.MaxUint32, samples+"more")), wav.Options{}, two, ""},
		{"RF64 with a table", "RF64" + u32(math.MaxUint32) + "WAVE" + ck("ds64", u64(0)+u64(4)+u64(0)+u32(1)+"big!"+u64(5)) + pcm(16) +
			declared("data", math.MaxUint32, samples), wav.Options{}, two, ""},
		{"RF64 with a size of 32 bits", rf64(99, pcm(16), declared("data", 4, samples+"more")), wav.Options{}, two, ""},
		{"RF64 of a stream", rf64(0, pcm(16), declared("data", math.MaxUint32, samples)), wav.Options{}, two, ""},
		{"RF64 of a stream, other", rf64(math.MaxUint64, pcm(16), declared("data", math.MaxUint32, samples)), wav.Options{}, two, ""},
		{"RF64 beyond 4 GiB", rf64(10_000_000_000, pcm(16), declared("data", math.MaxUint32, samples)), wav.Options{}, two,
			"t.wav: byte 84: at 0.002 s: expected 5000000000 samples as declared, found the end of the file after 2 samples: it was cut"},
		{"most samples", rf64(math.MaxInt64/1024*2, pcm(16), declared("data", math.MaxUint32, samples)), wav.Options{}, two,
			"t.wav: byte 84: at 0.002 s: expected 9007199254740991 samples as declared, found the end of the file after 2 samples: it was cut"},
		{"1 GHz", riff(form(1, 1, 1_000_000_000, 2, 16), ck("data", samples+"x")), wav.Options{}, two,
			"t.wav: byte 48: at 0.000000002 s: expected data in whole samples of 2 bytes, found 1 byte more"},
		{"most Hz", riff(form(1, 1, math.MaxUint32, 2, 16), ck("data", samples)), wav.Options{}, two, ""},
		{"65535 channels", riff(form(1, 65535, 1000, 65535, 8), ck("data", strings.Repeat("\xC0", 65535)+strings.Repeat("\x40", 65535))),
			wav.Options{Channel: 65535}, two, ""},
	} {
		t.Run(c.name, func(t *testing.T) { expect(t, c.data, c.opt, c.want, c.err) })
	}
}

func TestBadHeaders(t *testing.T) {
	ext := func(valid int, guid string) string { return riff(extensible(1, 2, 16, valid, guid)) }
	data := ck("data", "abcd")
	for _, c := range []struct{ name, data, want string }{
		{"empty", "", `byte 0: expected "RIFF" or "RF64", a size and "WAVE", found the end of the file`},
		{"text", "time_s,volts\n", `byte 0: expected "RIFF" or "RF64", a size and "WAVE", found "time_s,volts"`},
		{"other RIFF", "RIFF\x04\x00\x00\x00AVI ", `byte 0: expected "RIFF" or "RF64", a size and "WAVE", found "RIFF\x04\x00\x00\x00AVI "`},
		{"big-endian", "RIFX\x00\x00\x00\x04WAVE", `byte 0: expected "RIFF" or "RF64", a size and "WAVE", found "RIFX\x00\x00\x00\x04WAVE"`},
		{"nothing in it", riff(), `byte 12: expected a fmt chunk, found the end of the file`},
		{"cut chunk name", riff("fmt"), `byte 15: expected a fmt chunk, found the end of the file after 3 bytes`},
		{"no data", riff(pcm(16), ck("LIST", "INFO")), `byte 48: expected a data chunk, found the end of the file`},
		{"data first", riff(data, pcm(16)), `byte 12: expected a fmt chunk before the data, found the data chunk`},
		{"two fmt", riff(pcm(16), pcm(16), data), `byte 36: expected one fmt chunk, found a second one`},
		{"short fmt", riff(ck("fmt ", "0123456789abcd"), data), `byte 16: expected a fmt chunk of at least 16 bytes, found 14`},
		{"cut fmt", riff(pcm(16))[:30], `byte 30: expected a fmt chunk of 16 bytes, found the end of the file after 10 bytes`},
		{"long fmt cut", riff(declared("fmt ", 100, form(1, 1, 1000, 2, 16, strings.Repeat("x", 40))[8:])), `byte 76: expected chunk "fmt " of 100 bytes, found the end of the file after 56`},
		{"cut chunk", riff(declared("LIST", 100, "INFO")), `byte 24: expected chunk "LIST" of 100 bytes, found the end of the file after 4`},
		{"no padding at the end", riff(declared("LIST", 3, "abc")), `byte 23: expected chunk "LIST" of 3 bytes, found the end of the file after 3`},
		{"huge chunk", riff(declared("LIST", 3_000_000_000, "INFO")), `byte 16: expected the data within the first GiB, found chunk "LIST" of 3000000000 bytes`},
		{"huge fmt", riff(declared("fmt ", 3_000_000_000, pcm(16)[8:]+strings.Repeat("x", 24))), `byte 16: expected the data within the first GiB, found chunk "fmt " of 3000000000 bytes`},
		{"no channels", riff(form(1, 0, 1000, 2, 16), data), `byte 22: expected at least 1 channel, found 0`},
		{"no rate", riff(form(1, 1, 0, 2, 16), data), `byte 24: expected at least 1 sample a second, found 0`},
		{"no bits", riff(form(1, 1, 1000, 2, 0), data), `byte 34: expected at least 1 bit a sample, found 0`},
		{"12 bits in 3 bytes", riff(form(1, 1, 1000, 3, 12), data), `byte 32: expected 2 bytes for 1 channel of 12 bits, found 3`},
		{"24 bits in 4 bytes", riff(form(1, 2, 1000, 8, 24), data), `byte 32: expected 6 bytes for 2 channels of 24 bits, found 8`},
		{"no bytes", riff(form(1, 1, 1000, 0, 16), data), `byte 32: expected 2 bytes for 1 channel of 16 bits, found 0`},
		{"two channels", riff(form(1, 2, 1000, 4, 16), data), `byte 22: expected 1 channel, or the number of the channel to read (1 to 2), found 2 channels`},
		{"mu-law", riff(form(7, 1, 8000, 1, 8), data), `not supported: WAV of codec 0x0007 (mu-law), only 0x0001 (PCM) and 0x0003 (floating point) are`},
		{"unknown codec", riff(form(0x1234, 1, 8000, 1, 0), data), `not supported: WAV of codec 0x1234, only 0x0001 (PCM) and 0x0003 (floating point) are`},
		{"float 16", riff(form(3, 1, 8000, 2, 16), data), `not supported: WAV of floating point of 16 bits, only 32 and 64 are`},
		{"float 31", riff(form(3, 1, 8000, 4, 31), data), `not supported: WAV of floating point of 31 bits, only 32 and 64 are`},
		{"PCM 64", riff(form(1, 1, 8000, 8, 64), data), `not supported: WAV of PCM of 64 bits, only 1 to 32 are`},
		{"extensible A-law", ext(16, guid(6)), `not supported: WAV of codec 0x0006 (A-law), only 0x0001 (PCM) and 0x0003 (floating point) are`},
		{"extensible GUID", ext(16, "0123456789abcdef"), `not supported: WAV of codec 30313233343536373839616263646566 (a GUID)`},
		{"extensible too short", riff(form(0xFFFE, 1, 1000, 2, 16, u16(0)), data), `byte 16: expected a fmt chunk of at least 40 bytes for codec 0xFFFE, found 18`},
		{"more valid bits", ext(17, guid(1)), `byte 38: expected at most 16 valid bits, found 17`},
		{"RF64 without ds64", "RF64" + u32(math.MaxUint32) + "WAVE" + pcm(16) + declared("data", math.MaxUint32, "ab"),
			`byte 40: expected a ds64 chunk with the size of the data before it, found none`},
		{"short ds64", "RF64" + u32(math.MaxUint32) + "WAVE" + ck("ds64", u64(0)+u64(4)), `byte 16: expected a ds64 chunk of at least 28 bytes, found 16`},
		{"cut ds64", rf64(4)[:40], `byte 40: expected a ds64 chunk of 28 bytes, found the end of the file after 20 bytes`},
		{"too many samples", rf64(math.MaxInt64/1024*2+2, pcm(16), declared("data", math.MaxUint32, "ab")),
			`byte 76: expected at most 9007199254740991 samples, found 9007199254740992`},
		{"far too many samples", rf64(math.MaxUint64-1, pcm(8), declared("data", math.MaxUint32, "ab")),
			`byte 76: expected at most 9007199254740991 samples, found 18446744073709551614`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := wav.Open(strings.NewReader(c.data), "t.wav", wav.Options{})
			want := "t.wav: " + c.want
			if err == nil || err.Error() != want {
				t.Errorf("\ngot  %v\nwant %s", err, want)
			}
			var f *capture.FormatError
			var u *capture.UnsupportedError
			if strings.Contains(want, "not supported") != errors.As(err, &u) || errors.As(err, &u) == errors.As(err, &f) {
				t.Errorf("an error of type %T", err)
			}
			format(wav.Options{}).Sizes(t, []byte(c.data))
		})
	}
}

// An endless stream of chunks that aren't the data ends: 12 bytes and 1,023 whole chunks of 8 bytes and 1 MiB are below a GiB.
func TestEndlessHeader(t *testing.T) {
	chunk := declared("JUNK", 1<<20, strings.Repeat("x", 1<<20))
	r := &endless{head: riff(), chunk: chunk}
	_, err := wav.Open(r, "t.wav", wav.Options{})
	const want = `t.wav: byte 1072701448: expected the data within the first GiB, found chunk "JUNK" of 1048576 bytes`
	if err == nil || err.Error() != want {
		t.Errorf("\ngot  %v\nwant %s", err, want)
	}
}

type endless struct{ head, chunk string }

func (e *endless) Read(p []byte) (int, error) {
	n := copy(p, e.head)
	if e.head = e.head[n:]; e.head == "" {
		e.head = e.chunk
	}
	return n, nil
}

func TestChannelAndFullScale(t *testing.T) {
	stereo := riff(form(1, 2, 1000, 4, 16), ck("data", "abcd"))
	for _, c := range []struct {
		opt  wav.Options
		want string
	}{
		{wav.Options{Channel: 3}, "t.wav: byte 22: expected channel 3, found 2 channels"},
		{wav.Options{Channel: -1}, "t.wav: byte 22: expected channel -1, found 2 channels"},
		{wav.Options{FullScale: -24}, "t.wav: expected a full scale above 0 V, found -24"},
		{wav.Options{FullScale: math.Inf(1)}, "t.wav: expected a full scale above 0 V, found +Inf"},
		{wav.Options{FullScale: math.NaN()}, "t.wav: expected a full scale above 0 V, found NaN"},
	} {
		if _, err := wav.Open(strings.NewReader(stereo), "t.wav", c.opt); err == nil || err.Error() != c.want {
			t.Errorf("%+v\ngot  %v\nwant %s", c.opt, err, c.want)
		}
	}
	r, err := wav.Open(strings.NewReader(stereo), "t.wav", wav.Options{Channel: 1})
	if err != nil || r.Info().FullScale != 1 || !r.Info().Relative {
		t.Errorf("%+v, error %v", r.Info(), err)
	}
}
