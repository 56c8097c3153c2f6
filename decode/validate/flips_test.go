package validate_test

import (
	"math/bits"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/statistic"
	"linewitness/decode/uart"
	"linewitness/decode/validate"
)

// misreader puts frames of one sender into a fold, good ones and ones with misread bits.
type misreader struct {
	p    *link.Profile
	fold *validate.Fold
	now  capture.Tick
}

func newMisreader(t *testing.T, parity uart.Parity, sum string) *misreader {
	t.Helper()
	p := &link.Profile{Line: uart.Line{Speed: 1200, Format: uart.Format{DataBits: 8, Parity: parity, StopHalfs: 2}}}
	if sum != "" {
		s, err := checksum.Parse(sum)
		if e, missing := checksum.Lookup(sum); missing == nil {
			s, err = e.Sum(), nil
		}
		if err != nil {
			t.Fatal(err)
		}
		p.Checksum = &checksum.Spec{Sum: s, To: -s.Size(), At: -s.Size()}
	}
	return &misreader{p: p, fold: validate.NewFold(p, capture.Nanoseconds)}
}

// send sums octets up and sends them, with bits of one of them misread.
func (m *misreader) send(octets []byte, at int, misread byte, dirty bool) {
	m.now += 5e8
	b := append([]byte(nil), octets...)
	if m.p.Checksum != nil {
		m.p.Checksum.Put(b)
	}
	b[at] ^= misread
	r := link.Frame{At: m.now, End: m.now + 5e7, Turnaround: -1, Octets: b, Chars: make([]uart.Character, len(b))}
	for _, o := range b {
		r.Values = append(r.Values, uint16(o))
	}
	if misread != 0 {
		if m.p.Checksum != nil {
			r.Why = link.WhyChecksum
		}
		if m.p.Line.Format.Parity != uart.ParityNone && bits.OnesCount8(misread)%2 == 1 {
			r.Why |= link.WhyParity
			r.Chars[at].Fault = uart.FaultParity
		}
		if r.Why == 0 {
			r.Why = link.WhyUnframed
		}
	}
	m.fold.Add(&r, &validate.Quality{Dirty: dirty})
}

func (m *misreader) fact(t *testing.T) validate.Fact {
	return factOf(t, m.fold.FactList(), "errors.marks-to-space", capture.SideUnknown)
}

// Where parity, checksum or repetition leave one direction only it is the one in which the bit was misread; where they leave both, or
// bits are clean, nothing is claimed.
func TestMisreadBitsHaveADirection(t *testing.T) {
	t.Parallel()
	octets := []byte{0xA0, 0x35, 0x0F, 0x81, 0x5A, 0x00, 0x00, 0x00}
	for _, c := range []struct {
		name    string
		parity  uart.Parity
		sum     string
		at      int
		misread byte
		clean   bool
		n       int64
		lost    float64
	}{
		{"8E1 and a sum, mark lost", uart.ParityEven, "sum8-twos-complement", 1, 0x20, false, 1, 1},
		{"8E1 and a sum, mark gained", uart.ParityEven, "sum8-twos-complement", 1, 0x40, false, 1, 0},
		{"8N1 and a sum, bit 3: any octet, one direction", uart.ParityNone, "sum8-twos-complement", 2, 0x08, false, 1, 1},
		{"8N1 and a sum, bit 7: either direction", uart.ParityNone, "sum8-twos-complement", 0, 0x80, false, 0, 0},
		{"8N1 and CRC-16", uart.ParityNone, "CRC-16/MODBUS", 4, 0x10, false, 1, 1},
		{"8N1 and CRC-16, two neighbours", uart.ParityNone, "CRC-16/MODBUS", 4, 0x18, false, 1, 1},
		{"clean bits: the sender summed wrongly", uart.ParityNone, "CRC-16/MODBUS", 4, 0x10, true, 0, 0},
		{"no checksum, the frame before twice the same", uart.ParityNone, "", 4, 0x05, false, 1, 0},
	} {
		m := newMisreader(t, c.parity, c.sum)
		for i := range 3 {
			if c.sum != "" {
				octets[3] = byte(i) // no repetition
			}
			m.send(octets, 0, 0, false)
		}
		octets[3] = 2
		m.send(octets, c.at, c.misread, !c.clean)
		x := m.fact(t)
		if x.N != c.n || c.n > 0 && x.Value != c.lost || (x.N > 0) != x.Measured() {
			t.Errorf("%s: %+v, want %d with a share of %g", c.name, x, c.n, c.lost)
		}
	}
}

// Inverted bits convict no direction more often than p says, whatever the share of marks; bits that are all read as space do.
func TestInvertedBitsHaveNoDirection(t *testing.T) {
	t.Parallel()
	const lines, level = 300, 0.05
	alarms, seen := 0, 0
	for line := range lines {
		r := rand.New(rand.NewPCG(uint64(line), 3))
		m, marks := newMisreader(t, uart.ParityEven, "sum8-twos-complement"), newMisreader(t, uart.ParityEven, "sum8-twos-complement")
		for range 120 {
			octets := make([]byte, 8)
			for i := range octets {
				octets[i] = byte(r.IntN(256) & r.IntN(256)) // a quarter marks
			}
			at, bit := r.IntN(7), byte(1)<<r.IntN(8)
			if r.IntN(4) > 0 {
				bit = 0
			}
			m.send(octets, at, bit, true)
			marks.send(octets, at, bit&octets[at], true)
		}
		if x := m.fact(t); x.Measured() {
			if seen++; x.P <= level {
				alarms++
			}
		}
		if x := marks.fact(t); x.N > 3 && (x.Value != 1 || x.P > 0.05) {
			t.Errorf("line %d: only marks misread: %+v", line, x)
		}
	}
	if seen < lines*9/10 || statistic.BinomialTest(alarms, seen, level, statistic.Greater) < 1e-4 {
		t.Errorf("%d of %d lines with inverted bits have a direction at %g", alarms, seen, level)
	}
}
