package csvfile

import (
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
)

var format = capturetest.Format(func(r io.Reader, limit int) (capture.Source, error) {
	s, err := Open(r, "t.csv", Options{BlockTransitions: limit})
	if err != nil {
		return nil, err
	}
	return s, nil
})

func TestReader(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"changes", "time_s,level\n0,1\n1e-9,0\n0.000000009,0\n", "0..9 high 1:low"},
		{"samples of the same", "time_s,level\n0,1\n0.000000001,1\n0.000000002,1\n", "0..2 high"},
		{"volts", "time_s,volts\r\n0,1.5\r\n0.000000001,-2e-3\r\n0.000000002,+.5\r\n", "0..2 unknown 0:1.5V 1:-0.002V 2:0.5V"},
		{"all three in another order", "Volts, LEVEL ,x,time_s\n1.5,low,a,0\n2,Mid,,0.000000003\n3,HIGH,c,0.000000004\n", "0..4 low 3:mid 4:high 0:1.5V 3:2V 4:3V"},
		{"negative", "time_s,level\n-0.000000003,1\n-.000000001,0\n0,0\n", "-3..0 high -1:low"},
		{"last of an instant wins", "time_s,level\n0,1\n0,0\n0.000000005,1\n0.000000005,0\n0.000000006,0\n", "0..6 low"},
		{"lost", "time_s,level\n0,\n0.000000002,1\n0.000000004,x\n0.000000006,Z\n0.000000008,0\n0.000000009,z\n0.000000011,z\n",
			"0..11 high lost(0..2 why 1 high) lost(4..8 why 1 low) lost(9..11 why 2 unknown)"},
		{"lost volts", "time_s,volts\n0,1\n0.000000002,\n0.000000004,2\n", "0..4 unknown 0:1V 4:2V lost(2..4 why 1 unknown)"},
		{"quotes", "\"time_s\",\"no\"\"te\",level\n\"0\",\"a,\nb\",\"1\"\n0.000000002, \"x\" ,0\n", "0..2 high 2:low"},
		{"byte order mark, blank lines, no last line end", "\ufefftime_s,level\r\n\r\n0,1\r\n\r\n0.000000002,0", "0..2 high 2:low"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := format.Read([]byte(c.text))
			if err != nil || got.String() != c.want {
				t.Errorf("%s\ngot  %s, error %v\nwant %s", c.text, got.String(), err, c.want)
			}
			format.Sizes(t, []byte(c.text))
		})
	}
}

func TestErrors(t *testing.T) {
	const head = "time_s,level\n"
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", `t.csv:1:1: expected a header such as time_s,level, found an empty file`},
		{"blank", "\n\n", `t.csv:3:1: expected a header such as time_s,level, found an empty file`},
		{"no header", "0,1\n", `t.csv:1:1: expected a header with time_s and level or volts, separated by commas, found "0,1"`},
		{"semicolons", "time_s;level\n", `t.csv:1:1: expected a header with time_s and level or volts, separated by commas, found "time_s;level"`},
		{"twice", "time_s,level,level\n", `t.csv:1:14: expected each column once, found "level"`},
		{"no rows", head, `t.csv:2:1: expected a row, found the end of the file`},
		{"backwards", head + "1,1\n0.5,0\n", `t.csv:3:1: at 1 s: expected a time not before 1 s, found "0.5"`},
		{"bad time", head + "1,1\n1.5s,0\n", `t.csv:3:1: at 1 s: expected a time in seconds such as 0.000104167, found "1.5s"`},
		{"no time", head + ",1\n", `t.csv:2:1: expected a time in seconds such as 0.000104167, found ""`},
		{"too late", head + "9223372036.854775808,1\n", `t.csv:2:1: expected a time within 9223372036 s of zero, found "9223372036.854775808"`},
		{"bad level", head + "1,2\n", `t.csv:2:3: at 1 s: expected a level 0, 1, low, mid, high, x or z, found "2"`},
		{"not a number", "time_s,volts\n1,NaN\n", `t.csv:2:3: at 1 s: expected volts as a finite decimal number, or nothing where they are lost, found "NaN"`},
		{"too much", "time_s,volts\n1,1e999\n", `t.csv:2:3: at 1 s: expected volts as a finite decimal number, or nothing where they are lost, found "1e999"`},
		{"cut", head + "1,1\n2", `t.csv:3:2: at 1 s: expected 2 columns, found 1`},
		{"more columns", head + "1,1,5\n", `t.csv:2:5: expected 2 columns, found more`},
		{"open quote", head + "1,1\n2,\"1\n", `t.csv:4:1: at 1 s: expected a closing quote, found the end of the file`},
		{"after a quote", head + "\"1\"2,1\n", `t.csv:2:4: expected a comma after the closing quote, found "2"`},
		{"quote within", head + "1\"\",1\n", `t.csv:2:1: expected quotes around the whole field, found "1\"\""`},
		{"long", head + strings.Repeat("0", 70000) + ",1\n", `t.csv:2:1: expected a record of at most 64 KiB, found a longer one`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := format.Read([]byte(c.text)); err == nil || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
			format.Sizes(t, []byte(c.text))
		})
	}
}

func TestNanoseconds(t *testing.T) {
	for s, want := range map[string]capture.Tick{
		"0": 0, "-0": 0, "1": 1e9, "+1.": 1e9, ".5": 5e8, "0.1234567894": 123456789, "0.1234567895": 123456790,
		"-0.1234567895": -123456790, "0.0000000005": 1, "0.00000000049999": 0, "-0.0000000005": -1, "1.5e-3": 1500000,
		"1.5E3": 1500e9, "15e-10": 2, "5e-10": 1, "5e-11": 0, "1e-999999999": 0, "0e999999999": 0,
		"9223372036.854775807": math.MaxInt64, "1234567890.123456789": 1234567890123456789, "00000000000001.0": 1e9,
	} {
		if got, fault := nanoseconds([]byte(s)); got != want || fault != "" {
			t.Errorf("%q: got %d %s, want %d", s, got, fault, want)
		}
	}
	for _, s := range []string{"", "-", ".", "e5", "1e", "1e+", "1.2.3", "0x1", "1 2", "inf", "9223372036.8547758075", "1e10", "1e999999999"} {
		if got, fault := nanoseconds([]byte(s)); fault == "" {
			t.Errorf("%q: got %d, want an error", s, got)
		}
	}
}

func TestCuts(t *testing.T) {
	format.Cuts(t, []byte("time_s,note,level\n0.25,a,1\n0.5,\"b\"\"\",low\n0.75,,x\n1.25,,1\n1.5,,0\n"))
	format.Cuts(t, []byte("time_s,level\r\n0,1\r\n1e-3,0\r\n1,1\r\n"))
}

func generated(n int64) io.Reader {
	i := int64(0)
	return capturetest.Repeat("time_s,level,volts\n", n, func(p []byte) []byte {
		i++
		p = append(strconv.AppendInt(p, i, 10), '.', byte('0'+i%10), ',', byte('0'+i&1), ',')
		return append(p, "23.875\n"...)
	})
}

func TestMemory(t *testing.T) { format.Memory(t, shortBytes, generated) }
func TestAllocs(t *testing.T) { format.Allocs(t, generated(400<<10)) }

func FuzzReader(f *testing.F) {
	for _, s := range []string{"time_s,level\n0,1\n1e-3,0\n", "\ufefftime_s,volts,level\r\n\"-1\",\"1.5\",x\r\n0.1234567895,2,1", "time_s,level\n0,\n1,mid\n1,z\n2,0\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) { format.Fuzz(t, data) })
}
