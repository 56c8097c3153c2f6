package pcapng_test

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/gopacket/pcapgo"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/capture/pcapng"
)

// What was written comes back, block by block, and its head and notes with it.
func TestComesBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		want := made(rapid.Uint64().Draw(t, "seed"), rapid.IntRange(0, 12).Draw(t, "blocks"))
		var out bytes.Buffer
		w, err := pcapng.WriteTo(&out, madeInfo)
		if err != nil {
			t.Fatal(err)
		}
		var notes []pcapng.Note
		for i := range want {
			if err := w.Write(&want[i]); err != nil {
				t.Fatal(err)
			}
			if rapid.Bool().Draw(t, "note") {
				notes = append(notes, pcapng.Note{At: want[i].End, Text: "fan starts \u00e9"})
				if err := w.Note(want[i].End, notes[len(notes)-1].Text); err != nil {
					t.Fatal(err)
				}
			}
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		got, r, err := read(out.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		if err := same(got, want); err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(notes, r.Notes()); d != "" {
			t.Fatalf("notes (-want +got)\n%s", d)
		}
		info := madeInfo
		info.Name, info.Format = "log", "pcapng"
		if d := cmp.Diff(info, r.Info()); d != "" {
			t.Fatalf("info (-want +got)\n%s", d)
		}
		if len(r.Damage()) > 0 {
			t.Fatalf("damage in a sound log: %+v", r.Damage())
		}
	})
}

// A reader that is not ours finds a packet a record, with its interface and time.
func TestStockReader(t *testing.T) {
	t.Parallel()
	blocks := made(4, 30)
	log, _ := logged(t, madeInfo, blocks)
	r, err := pcapgo.NewNgReader(bytes.NewReader(log), pcapgo.NgReaderOptions{WantMixedLinkType: true})
	check(t, err)
	next := 0
	for {
		data, ci, err := r.ReadPacketData()
		if errors.Is(err, io.EOF) {
			break
		}
		check(t, err)
		face, err := r.Interface(ci.InterfaceIndex)
		check(t, err)
		if int(face.LinkType) != 147+ci.InterfaceIndex || data[0] != 1 || ci.CaptureLength != len(data) {
			t.Fatalf("link type %d of interface %d, record %x", face.LinkType, ci.InterfaceIndex, data[:min(len(data), 40)])
		}
		if data[1] != 2 { // levels
			continue
		}
		if want := madeInfo.Start; ci.Timestamp.Sub(want).Nanoseconds() != int64(blocks[next].Start) {
			t.Fatalf("block %d at %v, want %v after %v", next, ci.Timestamp, blocks[next].Start, want)
		}
		next++
	}
	if next != len(blocks) {
		t.Errorf("%d packets of levels, want %d", next, len(blocks))
	}
	if i := r.SectionInfo(); i.Application != "linewitness" {
		t.Errorf("section %+v", i)
	}
}

// A log that was cut anywhere gives the blocks that were whole before the cut, and says that it is torn.
func TestTornAnywhere(t *testing.T) {
	t.Parallel()
	want := made(9, 12)
	log, borders := logged(t, madeInfo, want)
	for n := range log {
		got, _, err := read(log[:n])
		var format *capture.FormatError
		if !errors.As(err, &format) || format.Offset > int64(n) {
			t.Fatalf("cut at %d: got %v", n, err)
		}
		if n < borders[0] {
			if len(got) > 0 {
				t.Fatalf("cut at %d, in the head: %d blocks", n, len(got))
			}
			continue
		}
		whole := 0
		for whole+1 < len(borders) && borders[whole+1] <= n {
			whole++
		}
		if err := same(got, want[:whole]); err != nil {
			t.Fatalf("cut at %d: %v", n, err)
		}
		if !pcapng.Torn(err) {
			t.Fatalf("cut at %d: not torn: %v", n, err)
		}
	}
	_, _, err := read(log[:borders[3]+30])
	const say = ": expected a whole block, found the end of the file inside it: the recording was not ended"
	if err == nil || !strings.HasPrefix(err.Error(), "log: byte ") || !strings.HasSuffix(err.Error(), say) || !strings.Contains(err.Error(), ": at 0.") {
		t.Errorf("got %v", err)
	}
}

// Files that are no logs are refused with a reason.
func TestNoLog(t *testing.T) {
	t.Parallel()
	log, borders := logged(t, madeInfo, made(1, 3))
	headless := append(bytes.Clone(log[:borders[0]-20]), log[borders[0]:]...)
	for name, c := range map[string]struct{ data, want string }{
		"empty":      {"", "log: byte 0: expected a section header block of 28 bytes, found a file of 0 bytes"},
		"text":       {strings.Repeat("time_s,level\n", 9), `log: byte 0: expected a section header block, found "time_s,level"`},
		"no packets": {string(log[:28+32*4]), ""},
		"no head":    {string(headless), ""},
		"two logs":   {string(log) + string(log), ""},
	} {
		_, _, err := read([]byte(c.data))
		var format *capture.FormatError
		if !errors.As(err, &format) || c.want != "" && err.Error() != c.want {
			t.Errorf("%s\ngot  %v\nwant %s", name, err, c.want)
		}
		t.Log(err)
	}
}
