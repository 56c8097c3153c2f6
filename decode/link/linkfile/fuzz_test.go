package linkfile_test

import (
	"bytes"
	"errors"
	"runtime"
	"strings"
	"testing"

	"linewitness/decode/link/linkfile"
)

// A file is an error with a place or a profile, never both; what was read, written and read again is equal.
func FuzzRead(f *testing.F) {
	file := heron(f)
	f.Add([]byte(file))
	for _, c := range badFiles {
		f.Add([]byte(strings.Replace(file, c.old, c.new, 1)))
	}
	f.Add([]byte(least + "line: {speed_bd: 1, format: 9N1}\nframing: {start: \"0120\"}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := linkfile.Read("f", data)
		if err != nil {
			var e *linkfile.Error
			if p != nil || !errors.As(err, &e) || e.Line < 1 || e.Column < 1 || e.Expected == "" || e.Found == "" {
				t.Fatalf("got %v and %#v", p, err)
			}
			return
		}
		var out, again bytes.Buffer
		if err := linkfile.Write(&out, p); err != nil {
			t.Fatalf("%v\n%+v", err, p)
		}
		q, err := linkfile.Read("f", out.Bytes())
		if err != nil {
			t.Fatalf("%v\n%s", err, out.Bytes())
		}
		if d := same(p, q); d != "" {
			t.Fatalf("(-want +got)\n%s\n%s", d, out.Bytes())
		}
		if err := linkfile.Write(&again, q); err != nil || !bytes.Equal(out.Bytes(), again.Bytes()) {
			t.Fatalf("%v: written twice:\n%s\n%s", err, out.Bytes(), again.Bytes())
		}
	})
}

// hostileMarks is as many marks as a reader takes.
const hostileMarks = 100000

// No file of the greatest size makes the reader take more than a bounded multiple of it.
func TestMemoryIsBounded(t *testing.T) {
	for name, piece := range map[string]string{
		"comments": "#\n", "lines": "\n", "keys": "a: 1\n", "list": "- 1\n", "flow": "[1,", "dashes": "- ", "maps": "{a: ", "text": "b ",
		"quotes": "\"a\" ", "open": "a: \"b\n ", "colons": ":", "escapes": "\"\\", "literal": "a: |\n b\n", "indent": "a:\n ", "tabs": "\t", "commas": ",",
	} {
		for _, times := range []int{hostileBytes / len(piece), min(hostileBytes, hostileMarks) / len(piece)} {
			allocated(t, name, strings.Repeat(piece, times))
		}
	}
}

func allocated(t *testing.T, name, file string) {
	t.Helper()
	data := []byte(file)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	p, err := linkfile.Read("p.yaml", data)
	runtime.ReadMemStats(&after)
	if err == nil {
		t.Errorf("%s: got %+v", name, p)
	}
	took := after.TotalAlloc - before.TotalAlloc
	if took > 128<<20 {
		t.Errorf("%s of %d bytes: %d MiB allocated in all", name, len(file), took>>20)
	}
	t.Logf("%s of %d bytes: %d KiB", name, len(file), took>>10)
}
