package checksum

import (
	"encoding/csv"
	"encoding/hex"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// table reads a CSV file of testdata without its header.
func table(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

func TestCatalogueAgainstSource(t *testing.T) {
	rows := table(t, "crc-catalogue.csv")
	if len(rows) != 51 || len(Catalogue()) != len(rows) {
		t.Fatalf("%d rows, %d entries, want 51", len(rows), len(Catalogue()))
	}
	widths := map[int]int{}
	for _, row := range rows {
		hexed := func(i int) uint16 {
			v, err := strconv.ParseUint(row[i], 0, 16)
			if err != nil {
				t.Fatalf("%s: %v", row[0], err)
			}
			return uint16(v)
		}
		width, _ := strconv.Atoi(row[1])
		widths[width]++
		want := Entry{row[0], Params{width, hexed(2), hexed(3), row[4] == "true", row[5] == "true", hexed(6)}, hexed(7), hexed(8)}
		got, err := Lookup(row[0])
		if err != nil {
			t.Error(err)
			continue
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s (-want +got):\n%s", row[0], d)
		}
	}
	if d := cmp.Diff(map[int]int{8: 20, 16: 31}, widths); d != "" {
		t.Errorf("entries a width (-want +got):\n%s", d)
	}
}

func TestCatalogueCheckAndResidue(t *testing.T) {
	for _, e := range Catalogue() {
		c := e.Sum()
		data := []byte("123456789")
		check := c.Compute(data)
		if check != e.Check {
			t.Errorf("%s: check %#x, want %#x", e.Name, check, e.Check)
		}
		switch { // the order in which the line carries it: reflected CRC low octet first
		case c.Size() == 1:
			data = append(data, byte(check))
		case e.RefOut:
			data = append(data, byte(check), byte(check>>8))
		default:
			data = append(data, byte(check>>8), byte(check))
		}
		if residue := c.Compute(data) ^ e.XorOut; residue != e.Residue {
			t.Errorf("%s: residue %#x, want %#x", e.Name, residue, e.Residue)
		}
	}
	if _, err := Lookup("CRC-16/NONE-SUCH"); err == nil {
		t.Error("Lookup of no entry: want an error")
	}
}

// labels says which algorithm a label of checksum-vectors.csv means; lead is put before the input, little marks results
// printed in the order of the line, low octet first.
var labels = map[string]struct {
	sum    string
	lead   string
	little bool
}{
	"modbus-rtu-crc (wire order, low byte first)":        {sum: "CRC-16/MODBUS", little: true},
	"crc-16/dnp (wire order, low byte first)":            {sum: "CRC-16/DNP", little: true},
	"modbus-ascii-lrc":                                   {sum: "sum8-twos-complement"},
	"lin-classic":                                        {sum: "sum8-carry-ones-complement"},
	"lin-enhanced (PID 50)":                              {sum: "sum8-carry-ones-complement", lead: "50"},
	"lin-enhanced (PID 97, id 17)":                       {sum: "sum8-carry-ones-complement", lead: "97"},
	"lin-enhanced (PID BF, id 3F)":                       {sum: "sum8-carry-ones-complement", lead: "BF"},
	"iec62056-21-bcc (xor after SOH up to ETX included)": {sum: "xor8"},
	"xor8 NMEA 0183":                                     {sum: "xor8"},
	"xor8":                                               {sum: "xor8"},
	"intel-hex (two complement of sum)":                  {sum: "sum8-twos-complement"},
	"two complement of sum8":                             {sum: "sum8-twos-complement"},
	"s-record (ones complement of sum)":                  {sum: "sum8-ones-complement"},
	"ones complement of sum8":                            {sum: "sum8-ones-complement"},
	"ft1.2 / m-bus sum8":                                 {sum: "sum8"},
	"sum8":                                               {sum: "sum8"},
	"ones-complement sum8 (end-around carry)":            {sum: "sum8-carry"},
	"inverted ones-complement sum8":                      {sum: "sum8-carry-ones-complement"},
	"fletcher-16 (mod 255)":                              {sum: "fletcher16"},
	"crc-8/maxim-dow":                                    {sum: "CRC-8/MAXIM-DOW"},
	"crc-8/nrsc-5":                                       {sum: "CRC-8/NRSC-5"},
	"crc-8/sae-j1850":                                    {sum: "CRC-8/SAE-J1850"},
	"crc-8/autosar":                                      {sum: "CRC-8/AUTOSAR"},
	"crc-16/ibm-3740":                                    {sum: "CRC-16/IBM-3740"},
}

// outOfScope are the labels of algorithms that this package does not have, with the number of their rows.
var outOfScope = map[string]int{
	"adler-32":                     1, // 32 bits
	"internet checksum (RFC 1071)": 2, // sums words of 16 bits
	"sum16":                        1, // a sum of 16 bits, not met on these links
}

func TestVectors(t *testing.T) {
	rows := table(t, "checksum-vectors.csv")
	used, left := 0, map[string]int{}
	for i, row := range rows {
		label := row[0]
		if _, ok := outOfScope[label]; ok {
			left[label]++
			continue
		}
		l, ok := labels[label]
		if !ok {
			t.Errorf("row %d: unknown label %q", i+2, label)
			continue
		}
		var sum Sum
		if e, err := Lookup(l.sum); err == nil {
			sum = e.Sum()
		} else if sum, err = Parse(l.sum); err != nil {
			t.Fatal(err)
		}
		data, err := hex.DecodeString(l.lead + row[1])
		if err != nil {
			t.Fatalf("row %d: %v", i+2, err)
		}
		want64, err := strconv.ParseUint(row[2], 16, 16)
		if err != nil {
			t.Fatalf("row %d: %v", i+2, err)
		}
		want := uint16(want64)
		if l.little {
			want = want<<8 | want>>8
		}
		if len(row[2]) != 2*sum.Size() {
			t.Errorf("row %d: %s: %d octets, vector has %q", i+2, label, sum.Size(), row[2])
		}
		if got := sum.Compute(data); got != want {
			t.Errorf("row %d: %s of %s: %#x, want %#x", i+2, label, row[1], got, want)
		}
		used++
	}
	if d := cmp.Diff(outOfScope, left); d != "" {
		t.Errorf("rows out of scope (-want +got):\n%s", d)
	}
	t.Logf("%d of %d rows used; out of scope: %v", used, len(rows), left)
	if used != 101 || len(rows) != 105 {
		t.Errorf("%d rows of %d used, want 101 of 105", used, len(rows))
	}
}

// LIN 2.2A clause 2.8.3: 4A; +55 = 9F; +93 = 132, carry, 33; +E5 = 118, carry, 19; inverted E6.
func TestLINWorkedExample(t *testing.T) {
	data := []byte{0x4A, 0x55, 0x93, 0xE5}
	sum := simple{kind: sum8Carry}
	for i, want := range []uint16{0x4A, 0x9F, 0x33, 0x19} {
		if got := sum.Compute(data[:i+1]); got != want {
			t.Errorf("after %X: %#x, want %#x", data[:i+1], got, want)
		}
	}
	inverted := simple{kind: sum8CarryOnes}
	if got := inverted.Compute(data); got != 0xE6 {
		t.Errorf("checksum %#x, want 0xE6", got)
	}
	// Receiver's rule: everything and the checksum give FF.
	if got := sum.Compute(append(data, 0xE6)); got != 0xFF {
		t.Errorf("with its checksum %#x, want 0xFF", got)
	}
}

// The two published check octets for a message with Fletcher's sum make the sum of the whole 0.
func TestFletcherCheckOctets(t *testing.T) {
	if got := (simple{kind: fletcher255}).Compute([]byte("abcde\x46\xC8")); got != 0 {
		t.Errorf("got %#x, want 0", got)
	}
}

// The known-bad ASCII frame :0003007C00017F, whose right sum is 80.
func TestKnownBadFrame(t *testing.T) {
	spec := Spec{Sum: simple{kind: sum8Twos}, To: -1, At: -1}
	ok, want, got, short := spec.Verify([]byte{0x00, 0x03, 0x00, 0x7C, 0x00, 0x01, 0x7F})
	if ok || short || want != 0x80 || got != 0x7F {
		t.Errorf("ok %v want %#x got %#x short %v", ok, want, got, short)
	}
}
