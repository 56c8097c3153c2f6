package file

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"linewitness/capture"
	"linewitness/capture/capturetest"
)

const (
	vcdText = "$timescale 1 us $end\n$var wire 1 ! s $end\n$enddefinitions $end\n#0\n1!\n#5\n0!\n"
	csvText = "time_s,level\n0,1\n1,0\n"

	// Two channels of 16 bits at 8 kHz, three samples.
	wavFormat = "fmt \x10\x00\x00\x00\x01\x00\x02\x00\x40\x1f\x00\x00\x00\x7d\x00\x00\x04\x00\x10\x00"
	stereo    = "RIFF\x30\x00\x00\x00WAVE" + wavFormat + "data\x0c\x00\x00\x00" + "\x00\x40\x00\xc0\x00\x20\x00\xe0\x00\x10\x00\xf0"

	// One channel of 8 bits at 8 kHz, two samples.
	monoFormat = "fmt \x10\x00\x00\x00\x01\x00\x01\x00\x40\x1f\x00\x00\x40\x1f\x00\x00\x01\x00\x08\x00"
	wavText    = "RIFF\x26\x00\x00\x00WAVE" + monoFormat + "data\x02\x00\x00\x00" + "\xc0\x40"
	wav64Text  = "RF64\xff\xff\xff\xffWAVE" + "ds64\x1c\x00\x00\x00" + "\x4a\x00\x00\x00\x00\x00\x00\x00" +
		"\x02\x00\x00\x00\x00\x00\x00\x00" + "\x02\x00\x00\x00\x00\x00\x00\x00" + "\x00\x00\x00\x00" + monoFormat + "data\xff\xff\xff\xff" + "\xc0\x40"
)

func TestOpen(t *testing.T) {
	for _, c := range []struct{ name, text, format, want string }{
		{"vcd", vcdText, "vcd", ""},
		{"vcd after blanks", "\n \r\n" + vcdText, "vcd", ""},
		{"csv", csvText, "csv", ""},
		{"csv with a mark and quotes", "\ufeff\"time_s\",\"level\"\n0,1\n", "csv", ""},
		{"csv after blank lines", "\r\n\n" + csvText, "csv", ""},
		{"wav", wavText, "wav", ""},
		{"wav of 64 bits", wav64Text, "wav", ""},
		{"cut wav", "RIFF\x2c\x00\x00\x00WAVEfmt ", "", "-: byte 16: expected a fmt chunk, found the end of the file after 4 bytes"},
		{"pcapng", "\x0a\x0d\x0d\x0a\x1c\x00\x00\x00\x4d\x3c\x2b\x1a", "", "-: byte 0: expected a section header block of 28 bytes, found a file of 12 bytes"},
		{"gzip", "\x1f\x8b\x08\x00", "", "-: not supported: compressed files; decompress it first (gzip -dc FILE | linewitness ... -)"},
		{"empty", "", "", "-: byte 0: expected a recording as VCD, CSV (header time_s,level or time_s,volts), WAV or pcapng, found an empty file"},
		{"text", "hello there\n", "", `-: byte 0: expected a recording as VCD, CSV (header time_s,level or time_s,volts), WAV or pcapng, found "hello there\n"`},
		{"bytes", "\x00time_s,level\n", "", `-: byte 0: expected a recording as VCD, CSV (header time_s,level or time_s,volts), WAV or pcapng, found "\x00time_s,level\n"`},
		{"bad csv", "time_s,colour\n", "", `-:1:1: expected a header with time_s and level or volts, separated by commas, found "time_s,colour"`},
	} {
		for how, r := range map[string]io.Reader{"whole": strings.NewReader(c.text), "by bytes": iotest.OneByteReader(strings.NewReader(c.text))} {
			s, err := Open("-", r, Options{})
			switch {
			case err != nil && s != nil:
				t.Errorf("%s, %s: both a source and error %v", c.name, how, err)
			case err != nil && err.Error() != c.want:
				t.Errorf("%s, %s:\ngot  %v\nwant %s", c.name, how, err, c.want)
			case err == nil && s.Info().Format != c.format:
				t.Errorf("%s, %s: got %q, want %q", c.name, how, s.Info().Format, c.format)
			}
		}
	}
}

func TestOpenFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "misleading.wav")
	if err := os.WriteFile(path, []byte(vcdText), 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := Open(path, nil, Options{Net: "s"})
	if err != nil {
		t.Fatal(err)
	}
	c, err := capturetest.Collect(s)
	if err != nil || len(c.At) != 1 || s.Info().Size != int64(len(vcdText)) || s.Info().Name != path {
		t.Errorf("got %+v, error %v, info %+v", c, err, s.Info())
	}
	if n := s.(Source).BytesRead(); n != int64(len(vcdText)) {
		t.Errorf("%d bytes read, want %d", n, len(vcdText))
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
	if err := s.Close(); !errors.Is(err, os.ErrClosed) {
		t.Errorf("closed twice: %v, so the file was left open", err)
	}
	if _, err := Open(dir, nil, Options{}); err == nil || err.Error() != dir+": expected a recording, found a directory" {
		t.Errorf("directory: %v", err)
	}
	if _, err := Open(filepath.Join(dir, "none"), nil, Options{}); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("missing file: %v", err)
	}
}

// What is said of a WAV comes through: the channel, by its own option or as the net, and the full scale.
func TestWAV(t *testing.T) {
	const need = "-: byte 22: expected 1 channel, or the number of the channel to read (1 to 2), found 2 channels"
	const first, second = "0..3072 unknown 0:0.5V 1024:0.25V 2048:0.125V", "0..3072 unknown 0:-0.5V 1024:-0.25V 2048:-0.125V"
	for _, c := range []struct {
		name, text string
		opt        Options
		want       string
	}{
		{"one", wavText, Options{}, "0..2048 unknown 0:0.5V 1024:-0.5V"},
		{"one of 64 bits, scaled", wav64Text, Options{FullScale: 48}, "0..2048 unknown 0:24V 1024:-24V"},
		{"one, named", wavText, Options{Net: "1"}, "0..2048 unknown 0:0.5V 1024:-0.5V"},
		{"two", stereo, Options{}, need},
		{"first", stereo, Options{Channel: 1}, first},
		{"second", stereo, Options{Channel: 2, Net: "tx"}, second},
		{"second as a net", stereo, Options{Net: "2"}, second},
		{"third as a net", stereo, Options{Net: "3"}, "-: byte 22: expected channel 3, found 2 channels"},
		{"minus one", stereo, Options{Channel: -1}, "-: byte 22: expected channel -1, found 2 channels"},
		{"none", stereo, Options{Net: "0"}, `-: byte 0: expected the number of a channel, from 1, as the net of a WAV, found "0"`},
		{"a name", stereo, Options{Net: "tx"}, `-: byte 0: expected the number of a channel, from 1, as the net of a WAV, found "tx"`},
		{"full scale", wavText, Options{FullScale: -1}, "-: expected a full scale above 0 V, found -1"},
	} {
		s, err := Open("-", strings.NewReader(c.text), c.opt)
		got := ""
		if err != nil {
			got = err.Error()
		} else if content, err := capturetest.Collect(s); err != nil {
			got = err.Error()
		} else {
			got = content.String()
			if i := s.Info(); i.Relative != (c.opt.FullScale == 0) || !i.Volts || i.Levels {
				t.Errorf("%s: %+v", c.name, i)
			}
		}
		if got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, got, c.want)
		}
	}
	path := filepath.Join(t.TempDir(), "a.vcd")
	if err := os.WriteFile(path, []byte(wavText), 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := Open(path, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if n := s.(Source).BytesRead(); n != int64(len(wavText)) || s.Info().Size != n {
		t.Errorf("read %d bytes of %d", n, s.Info().Size)
	}
}

type neverClosed struct {
	io.Reader
	t *testing.T
}

func (n neverClosed) Close() error {
	n.t.Error("standard input was closed")
	return nil
}

func TestStdinStaysOpen(t *testing.T) {
	s, err := Open("-", neverClosed{strings.NewReader(csvText), t}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
}

func TestFailingInput(t *testing.T) {
	failure := errors.New("cable pulled")
	if _, err := Open("-", iotest.ErrReader(failure), Options{}); !errors.Is(err, failure) {
		t.Errorf("got %v", err)
	}
}

// A pipe that has a whole header is opened without waiting for more.
func TestPipe(t *testing.T) {
	r, w := io.Pipe()
	defer w.Close()
	go w.Write([]byte("time_s,level\n"))
	if s, err := Open("-", r, Options{}); err != nil || s.Info().Format != "csv" {
		t.Errorf("got %v, error %v", s, err)
	}
}

func FuzzOpen(f *testing.F) {
	for _, s := range []string{vcdText, csvText, wavText, wav64Text, stereo, "\x0a\x0d\x0d\x0a", "\x1f\x8b", "\ufefftime_s,volts\n0,1"} {
		f.Add([]byte(s))
	}
	format := capturetest.Format(func(r io.Reader, _ int) (capture.Source, error) { return Open("-", r, Options{}) })
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Open("-", bytes.NewReader(data), Options{})
		if (s == nil) == (err == nil) {
			t.Fatalf("source %v and error %v", s, err)
		}
		format.Fuzz(t, data)
	})
}
