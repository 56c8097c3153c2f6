package output

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/gopacket/layers"
	"github.com/google/gopacket/pcapgo"

	"linewitness/capture"
	"linewitness/decode/link"
)

// packetLine is a packet as the line of JSON that it stands for.
type packetLine struct {
	Name string   `json:"name"`
	T    float64  `json:"t_s"`
	End  float64  `json:"end_s"`
	Side string   `json:"side"`
	Hex  string   `json:"hex"`
	OK   bool     `json:"ok"`
	Why  []string `json:"why"`
}

// comments are those of a file's packets, block by block (draft-ietf-opsawg-pcapng, clauses 3.1, 3.5, 4.3).
func comments(t *testing.T, file []byte) (all []string) {
	t.Helper()
	for len(file) > 0 {
		if len(file) < 12 {
			t.Fatalf("%d octets of a block", len(file))
		}
		kind, n := binary.LittleEndian.Uint32(file), int(binary.LittleEndian.Uint32(file[4:]))
		if n%4 != 0 || n < 12 || n > len(file) || binary.LittleEndian.Uint32(file[n-4:]) != uint32(n) {
			t.Fatalf("block of type %#x has a length of %d", kind, n)
		}
		if kind == blockPacket {
			captured := int(binary.LittleEndian.Uint32(file[20:]))
			o := file[28+(captured+3)/4*4 : n-4]
			if code := binary.LittleEndian.Uint16(o); code != optionComment {
				t.Fatalf("first option %d, want a comment", code)
			}
			m := int(binary.LittleEndian.Uint16(o[2:]))
			all = append(all, string(o[4:4+m]))
			if rest := o[4+(m+3)/4*4:]; !bytes.Equal(rest, make([]byte, 4)) {
				t.Fatalf("options end with % x", rest)
			}
		}
		file = file[n:]
	}
	return all
}

// Frames as packets are read back equal by a stock reader: bytes and times as such, the rest from the comments.
func TestFramesAsPackets(t *testing.T) {
	name := filepath.Join(t.TempDir(), "out.pcapng")
	w, err := OpenFrames(name, nil)
	if err != nil {
		t.Fatal(err)
	}
	odd := "a \"b\"\nä.vcd"
	write(t, w, odd)
	if err := w.Commit(); err != nil {
		t.Fatal(err)
	}
	file, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	r, err := pcapgo.NewNgReader(bytes.NewReader(file), pcapgo.NgReaderOptions{WantMixedLinkType: true})
	if err != nil {
		t.Fatal(err)
	}
	said := comments(t, file)
	var want, got []packetLine
	for _, line := range strings.Split(strings.TrimSpace(wantLines), "\n") {
		var p packetLine
		if err := json.Unmarshal([]byte(line), &p); err != nil {
			t.Fatal(err)
		}
		p.Name = odd
		want = append(want, p)
	}
	for i := 0; ; i++ {
		data, info, err := r.ReadPacketData()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil || i >= len(said) {
			t.Fatal(err, i)
		}
		var p packetLine
		if err := json.Unmarshal([]byte(said[i]), &p); err != nil {
			t.Fatalf("comment %q: %v", said[i], err)
		}
		if off := info.Timestamp.Sub(time.Unix(0, 0)).Seconds() - p.T; math.Abs(off) > 1e-9 {
			t.Errorf("packet %d stands %g s beside its comment", i, off)
		}
		for _, b := range data {
			p.Hex += string(upper[b>>4]) + string(upper[b&15])
		}
		got = append(got, p)
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	if i, err := r.Interface(0); err != nil || i.LinkType != layers.LinkType(linkUser4) {
		t.Errorf("interface %+v, %v", i, err)
	}
}

// Instants of any clock become whole nanoseconds without overflowing on the way.
func TestNanoseconds(t *testing.T) {
	for _, c := range []struct {
		t     capture.Tick
		clock capture.Clock
		want  uint64
	}{
		{1_234_567_891, capture.Nanoseconds, 1_234_567_891},
		{48000 * 1024 * 3600 * 24 * 30, capture.Clock{Num: 48000 * 1024, Den: 1}, 3600 * 24 * 30 * 1e9},
		{7, capture.Clock{Num: 1, Den: 100}, 700e9},
		{1, capture.Clock{Num: 1e15, Den: 1}, 0},
		{-5, capture.Nanoseconds, 0},
		{math.MaxInt64, capture.Clock{Num: 1, Den: 1 << 62}, 1<<64 - 1},
		{math.MaxInt64, capture.Clock{Num: 1, Den: 1}, 1<<64 - 1},
	} {
		if got := nanoseconds(c.t, c.clock); got != c.want {
			t.Errorf("%d of %v: got %d, want %d", c.t, c.clock, got, c.want)
		}
	}
}

// A frame costs no allocation.
func TestPacketsDoNotAllocate(t *testing.T) {
	e := &packets{}
	e.recording("rec.vcd", nil)
	f := link.Frame{At: 5, End: 9, Side: capture.Indoor, Why: link.WhyChecksum, Values: make([]uint16, 40)}
	b := e.frame(nil, &f, capture.Nanoseconds, false)
	if n := testing.AllocsPerRun(100, func() { b = e.frame(b[:0], &f, capture.Nanoseconds, false) }); n > 0 {
		t.Errorf("%g allocations a frame", n)
	}
}
