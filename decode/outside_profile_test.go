package decode_test

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/cause"
	"linewitness/decode/link"
	"linewitness/decode/link/linkfile"
	"linewitness/decode/uart/uarttest"
)

// The talk of the two peers by a profile file: every frame good, sides by their names, and the values that the peers' own
// octets have.
func TestModbusPeersByAProfileFile(t *testing.T) {
	t.Parallel()
	path := filepath.Join("testdata", "modbus-peers.yaml")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	p, err := linkfile.Read(path, data)
	if err != nil {
		t.Fatal(err)
	}
	l := lay(t, talkOfPeers(t, 4), setting{speed: 19200, format: "8E1", period: 0.080, fastest: 0.0025, slowest: 0.010}, nil)
	n := 0
	var sent, read []int64 // first registers of function 3, by the peers and by the profile
	f := examine(t, l.wire.Source(1000), p, decode.Options{Tap: capture.Pair, Frames: func(r *link.Frame) {
		if n >= len(l.frames) {
			n++
			return
		}
		want := l.frames[n]
		n++
		side := capture.Indoor
		if want.poll {
			side = capture.Outdoor
		}
		if !r.OK() || r.Side != side || !bytes.Equal(r.Octets, want.octets) {
			t.Errorf("frame %d: %X of %v, %v; want %X of %v", n, r.Octets, r.Side, r.Why.Names(), want.octets, side)
		}
		if !want.poll && want.octets[1] == 3 {
			sent = append(sent, int64(want.octets[3])<<8|int64(want.octets[4]))
			for _, x := range p.Dissect(nil, r.Octets, r.Shape) {
				if p.Shapes[r.Shape].Fields[x.Field].Name == "register" {
					read = append(read, x.N)
				}
			}
		}
	}})
	if n != len(l.frames) || f.Unframed != 0 {
		t.Errorf("%d frames, %d unframed, want %d", n, f.Unframed, len(l.frames))
	}
	if len(sent) == 0 || len(sent) != len(read) {
		t.Fatalf("registers sent %v, read %v", sent, read)
	}
	for i := range sent {
		if sent[i] != read[i] {
			t.Errorf("register %d: sent %d, read %d", i, sent[i], read[i])
		}
	}
	if f.Verdict.Cause != cause.None {
		t.Errorf("verdict %s: %s", f.Verdict, f.Verdict.Summary)
	}
	t.Logf("%d frames by %s, %d values; %s", n, path, len(f.Values), f.Verdict.Summary)
}

const linProfile = `schema: linewitness/profile/1
name: LIN 2.2A
kind: logic
line: {speed_bd: 19200, format: 8N1}
framing: {break: true, start: "55", gap_characters: 3}
checksum: {rule: sum8-carry-ones-complement, covers: [2, -1], at: -1}
frames:
  - name: four octets
    match: [{at: 2, is: 0x50}]
    length: 8
    fields: [{name: first, at: 3}, {name: last, at: 6}]
`

const readoutProfile = `schema: linewitness/profile/1
name: IEC 62056-21
kind: logic
line: {speed_bd: 300, format: 7E1}
framing: {start: "01", end: "03", after_end: 1, gap_characters: 3}
checksum: {rule: xor8, covers: [1, -1], at: -1}
frames:
  - name: break off
    match: [{at: 1, is: 0x42}, {at: 2, is: 0x30}]
    length: 5
`

// Worked examples of LIN 2.2A clause 2.8.3, enhanced sum (10 4A 55 93 E5 has PID 50 and sum 96), and of IEC 62056-21 (SOH B0
// ETX, block check 71), by profile files: good as they are, bad with a bit turned over.
func TestWorkedExamplesByProfileFiles(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		file  string
		brk   bool
		frame []uint16
		shape string
	}{
		{linProfile, true, []uint16{0x55, 0x50, 0x4A, 0x55, 0x93, 0xE5, 0x96}, "four octets"},
		{readoutProfile, false, []uint16{0x01, 0x42, 0x30, 0x03, 0x71}, "break off"},
	} {
		p, err := linkfile.Read("example.yaml", []byte(c.file))
		if err != nil {
			t.Fatal(err)
		}
		for _, turned := range []uint16{0, 4} {
			w := &uarttest.Wire{Clock: capture.Nanoseconds}
			s := uarttest.Sender{Line: p.Line}
			for range 3 {
				w.Idle(0.2)
				if c.brk {
					w.Elements(s, append(make([]bool, 13), true)) // 13 dominant bits and a delimiter
					w.Now += 14 / p.Line.Speed
				}
				v := slices.Clone(c.frame)
				v[2] ^= turned
				w.Send(s, v...)
			}
			w.Idle(0.2)
			var frames, good int
			examine(t, w.Source(100), p, decode.Options{Tap: capture.BoardPin, Frames: func(f *link.Frame) {
				frames++
				if f.OK() && f.Shape >= 0 && p.Shapes[f.Shape].Name == c.shape {
					good++
				}
			}})
			if want := map[uint16]int{0: 3, 4: 0}[turned]; frames != 3 || good != want {
				t.Errorf("%s, bits %02X turned over: %d frames, %d good, want 3 and %d", p.Name, turned, frames, good, want)
			}
		}
	}
}
