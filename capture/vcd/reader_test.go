package vcd

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"linewitness/capture"
	"linewitness/capture/capturetest"
)

const (
	lo = capture.Low
	hi = capture.High
)

var format = capturetest.Format(func(r io.Reader, limit int) (capture.Source, error) {
	return open(r, Options{BlockTransitions: limit})
})

func open(r io.Reader, opt Options) (capture.Source, error) {
	s, err := Open(r, "t.vcd", opt)
	if err != nil {
		return nil, err
	}
	return s, nil
}

// Byte 55 as 8N1 at 9600 Bd, idle high, as written by Icarus Verilog 11.0 (changes computed from the bit times).
const uartVector = `$date
	Thu Jan  1 00:00:00 2026
$end
$version
	Icarus Verilog
$end
$timescale
	1ns
$end
$scope module t $end
$var reg 1 ! tx $end
$upscope $end
$enddefinitions $end
#0
$dumpvars
1!
$end
#1000000
0!
#1104167
1!
#1208334
0!
#1312501
1!
#1416668
0!
#1520835
1!
#1625002
0!
#1729169
1!
#1833336
0!
#1937503
1!
#3000000
`

// The quick-start example of pyvcd 0.2.2.
const pyvcdVector = `$date today $end
$timescale 1 ns $end
$scope module a.b.c $end
$var integer 8 ! counter $end
$upscope $end
$scope module a.b $end
$var real 64 " x $end
$upscope $end
$enddefinitions $end
#0
$dumpvars
b1010 !
r1.23 "
$end
#1
b1100 !
#2
b1110 !
#3
b10000 !
#4
b10010 !
#5
r3.21 "
`

func TestGolden(t *testing.T) {
	uart := &capturetest.Content{First: hi, End: 3000000, Transitions: capture.Transitions{
		At: []capture.Tick{1000000, 1104167, 1208334, 1312501, 1416668, 1520835, 1625002, 1729169, 1833336, 1937503},
		To: []capture.Level{lo, hi, lo, hi, lo, hi, lo, hi, lo, hi}}}
	volts := &capturetest.Content{End: 5, Samples: capture.Samples{SampleAt: []capture.Tick{0, 5}, Volts: []float64{1.23, 3.21}}}
	for text, want := range map[string]*capturetest.Content{uartVector: uart, pyvcdVector: volts} {
		got, err := format.Read([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want, got, cmpopts.IgnoreFields(capturetest.Content{}, "Blocks"), cmpopts.EquateEmpty()); d != "" {
			t.Errorf("(-want +got)\n%s", d)
		}
	}
}

// one is a header of one net of 1 bit; its last line is line 3.
const one = "$timescale 1 us $end\n$var wire 1 ! s $end\n$enddefinitions $end\n"

// both has a real net too.
const both = "$timescale 1 us $end\n$var wire 1 ! s $end\n$var real 64 v v $end\n$enddefinitions $end\n"

func TestReader(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"plain", one + "#0\n1!\n#5\n0!\n#9\n", "0..9 high 5:low"},
		{"windows lines, tabs and blank lines", strings.ReplaceAll(one, "\n", "\r\n") + "\r\n#0\r\n\t1!\r\n#5 0!\r\n\r\n#9\r\n", "0..9 high 5:low"},
		{"values before any time", one + "1!\n#5\n0!\n", "0..5 high 5:low"},
		{"starts late", one + "#7\n1!\n#9\n", "7..9 high"},
		{"no value at first", one + "#7\n#8\n1!\n#9\n", "7..9 high lost(7..8 why 1 high)"},
		{"never a value", one + "#7\n#9\n", "7..9 unknown lost(7..9 why 1 unknown)"},
		{"one instant", one + "#7\n1!\n", "7..7 high"},
		{"one unknown instant", one + "#7\nx!\n", "7..7 unknown"},
		{"last of an instant wins", one + "#0\n0!\n1!\n#5\n0!\n1!\n#6\n1!\n0!\n#6\n1!\n#7\n1!\n0!\n#8\n", "0..8 high 7:low"},
		{"a spike of unknown is none", one + "#0\n1!\n#5\nx!\n0!\n#6\n", "0..6 high 5:low"},
		{"unknown", one + "#0\n1!\n#5\nx!\n#8\n0!\n#9\n1!\n", "0..9 high 9:high lost(5..8 why 1 low)"},
		{"floating, then unknown", one + "#0\n1!\n#5\nZ!\n#6\nx!\n#8\n1!\n", "0..8 high lost(5..8 why 2 high)"},
		{"non-standard", one + "#0\nU!\n#1\n1!\n#2\nH!\n#3\n-!\n#4\n0!\n", "0..4 high lost(0..1 why 1 high) lost(2..4 why 1 low)"},
		{"unknown to the end", one + "#0\n1!\n#5\nx!\n#9\n", "0..9 high lost(5..9 why 1 unknown)"},
		{"unknown at the end", one + "#0\n1!\n#5\nx!\n", "0..5 high"},
		{"pause", one + "#0\n1!\n#5\n$dumpoff\nx!\n$end\n#9\n$dumpon\n0!\n$end\n#12\n", "0..12 high lost(5..9 why 3 low)"},
		{"pause without values", one + "#0\n1!\n#5\n$dumpoff $end\n#9\n0!\n", "0..9 high lost(5..9 why 3 low)"},
		{"repeated values", one + "#0\n$dumpvars 1! $end\n#5\n$dumpall 1! $end\n#9\n$comment 0! $end\n", "0..9 high"},
		{"vector of one bit", one + "#0\nb1 !\n#5\nB0 !\n#6\nbx !\n#7\nb1 !\n", "0..7 high 5:low lost(6..7 why 1 high)"},
		{"last line without its end", one + "#0\n1!\n#5\n0!", "0..5 high 5:low"},
		{"volts and level", both + "#0\n1!\nr1.5 v\n#2\nr2 v\nr2.5 v\n#3\n0!\n#4\n", "0..4 high 3:low 0:1.5V 2:2.5V"},
		{"NaN", both + "#0\n1!\nr1.5 v\n#2\nrNaN v\n#3\nr2 v\n#4\n", "0..4 high 0:1.5V 3:2V lost(2..3 why 1 high)"},
		{"pause of volts", both + "#0\n1!\nr1.5 v\n#2\n$dumpoff\nx!\nrNaN v\n$end\n#3\nr2 v\n#4\n1!\n#5\n", "0..5 high 0:1.5V 4:2V lost(2..4 why 3 high)"},
		{"long codes", strings.ReplaceAll(one+"#0\n1!\n#5\n0!\n", "!", "abcd"), "0..5 high 5:low"},
		{"codes of three", strings.ReplaceAll(one+"#0\n1!\n#5\n0!\n", "!", "~~~"), "0..5 high 5:low"},
		{"last time", one + "#0\n1!\n#9223372036854775807\n0!\n", "0..9223372036854775807 high 9223372036854775807:low"},
		{"aliases", strings.Replace(one, "$endd", "$var wire 1 ! other $end\n$endd", 1) + "#0\n1!\n#5\n", "0..5 high"},
		{"vectors and events aside", strings.Replace(one, "$endd", "$var reg 8 # n [7 : 0] $end\n$var event 1 e e $end\n$endd", 1) + "#0\n1!\nb10 #\n#5\n1e\n", "0..5 high"},
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
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", `t.vcd:1: expected a VCD header, found an empty file`},
		{"wrong magic", "hello\n", `t.vcd:1: expected a VCD header that starts with a keyword such as $timescale, found "hello"`},
		{"unknown keyword", "$timescale 1 ns $end\n$vra\n", `t.vcd:2: expected a header keyword such as $var or $enddefinitions, found "$vra"`},
		{"no end of definitions", one[:strings.Index(one, "$endd")], `t.vcd:3: expected $enddefinitions, found the end of the file`},
		{"no timescale", one[21:], `t.vcd:2: expected $timescale before $enddefinitions, found none`},
		{"bad timescale", "$timescale 5 ns $end\n", `t.vcd:1: expected a timescale of 1, 10 or 100 and s, ms, us, ns, ps or fs, found "5ns"`},
		{"upscope", "$upscope $end\n", `t.vcd:1: expected $scope before $upscope, found none`},
		{"forgotten end", "$scope module a\n$var wire", `t.vcd:2: expected $end of $scope, found "$var"`},
		{"no width", "$var wire w ! s $end\n", `t.vcd:1: expected a net's width in bits, found "w"`},
		{"no name", "$var wire 1 ! $end\n", `t.vcd:1: expected a net's name, found "$end"`},
		{"no nets", "$timescale 1 s $end\n$enddefinitions $end\n", `t.vcd:2: expected a 1-bit or real net, found none`},
		{"code with a letter beyond", "$var wire 1 \u00e4 s $end\n", `t.vcd:1: expected an identifier code of characters ! to ~, found "ä"`},
		{"nothing", one, `t.vcd:4: expected a time stamp or a value, found the end of the file`},
		{"undeclared", one + "#5\n1?\n", `t.vcd:5: at 0.000005 s: expected a declared identifier code, found "?"`},
		{"bad scalar", one + "#5\n2!\n", `t.vcd:5: at 0.000005 s: expected a time stamp, a value or a keyword, found "2!"`},
		{"no code", one + "#5\n1\n!\n", `t.vcd:5: at 0.000005 s: expected an identifier code right after the value, found "1"`},
		{"time backwards", one + "#1000000\n1!\n#250000\n", `t.vcd:6: at 1 s: expected a time stamp not before #1000000, found "#250000"`},
		{"time too late", one + "#9223372036854775808\n", `t.vcd:4: expected a time stamp below 2^63, found "#9223372036854775808"`},
		{"bad time", one + "#1.5\n", `t.vcd:4: expected a time stamp # and a number, found "#1.5"`},
		{"bad time later", one + "#1\n1!\n#1e5 and much more text here\n", `t.vcd:6: at 0.000001 s: expected a time stamp # and a number, found "#1e5"`},
		{"cut time", one + "#1\n1!\n#12", `t.vcd:6: at 0.000001 s: expected a line end after the time stamp, found "#12" and the end of the file`},
		{"cut section", one + "#1\n$dumpall\n1!\n", `t.vcd:7: at 0.000001 s: expected $end of $dumpall, found the end of the file`},
		{"cut comment", one + "#1\n$comment\nhello\n", `t.vcd:7: at 0.000001 s: expected $end of $comment, found the end of the file`},
		{"cut vector", one + "#1\nb1\n", `t.vcd:6: at 0.000001 s: expected an identifier code, found the end of the file`},
		{"cut keyword", one + "#1\n$dumpo", `t.vcd:5: at 0.000001 s: expected a time stamp, a value or a keyword such as $dumpvars, found "$dumpo" and the end of the file`},
		{"time within a section", one + "$dumpvars\n#1\n", `t.vcd:5: at 0 s: expected a value or $end of $dumpvars, found "#1"`},
		{"stray end", one + "$end\n", `t.vcd:4: expected a time stamp, a value or a keyword, found "$end"`},
		{"two bits", one + "b10 !\n", `t.vcd:4: at 0 s: expected a value of 1 bit, found "b10"`},
		{"infinite", both + "rinf v\n", `t.vcd:5: at 0 s: expected a finite real value such as r0.5, found "rinf"`},
		{"scalar for volts", both + "1v\n", `t.vcd:5: at 0 s: expected a real value such as r0.5, found "1v"`},
		{"extended", one + "$dumpports\n", `t.vcd: not supported: extended VCD ($dumpports)`},
		{"long token", one + "#" + strings.Repeat("0", 70000) + "\n", `t.vcd:4: expected a token of at most 64 KiB, found one that starts with "#0000000000000000000"`},
		{"long code", "$var wire 1 " + strings.Repeat("!", 5000) + " s $end\n", `t.vcd:1: expected an identifier code of at most 4 KiB, found "!!!!!!!!!!!!!!!!!!!!!!!!!!!!!!!!!!!!!!!!"... (5000 bytes)`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := format.Read([]byte(c.text)); err == nil || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
			format.Sizes(t, []byte(c.text))
		})
	}
}

func TestBeforeAnError(t *testing.T) {
	got, err := format.Read([]byte(one + "#0\n1!\n#5\n0!\n#9\n1!\n?\n"))
	if want := "0..9 high 5:low"; err == nil || got.String() != want {
		t.Errorf("got %s and error %v, want %s and an error", got.String(), err, want)
	}
}

func TestTimescale(t *testing.T) {
	for exponent, unit := range map[int64]string{1: "s", 1e3: "ms", 1e6: "us", 1e9: "ns", 1e12: "ps", 1e15: "fs"} {
		for _, n := range []int64{1, 10, 100} {
			for _, blank := range []string{"", " ", "\n\t"} {
				scale := strconv.FormatInt(n, 10) + blank + unit
				s, err := open(strings.NewReader(strings.Replace(one, "1 us", scale, 1)), Options{})
				if err != nil {
					t.Fatal(err)
				}
				c := s.Info().Clock
				if c.Num*n != exponent*c.Den || c.Num != 1 && c.Den != 1 {
					t.Errorf("%q: clock %v", scale, c)
				}
			}
		}
	}
}

func TestNet(t *testing.T) {
	const header = "$timescale 1 ns $end\n$scope module top $end\n$var wire 1 ! tx $end\n$var wire 1 !! rx [0] $end\n" +
		"$scope module sub $end\n$var wire 1 !!! tx $end\n$var wire 1 ! alias $end\n$upscope $end\n$var real 64 v volts $end\n" +
		"$upscope $end\n$enddefinitions $end\n#0\n1!\n0!!\nx!!!\nr2 v\n#1\n"
	const all = "top.tx, top.rx[0], top.sub.tx, top.sub.alias, top.volts"
	for net, want := range map[string]string{
		"":           "t.vcd:11: expected one 1-bit net or one real net, or the name of the net to read, found top.tx, top.rx[0], top.sub.tx, top.volts",
		"tx":         `t.vcd:11: expected one net "tx", found several: top.tx, top.sub.tx`,
		"no":         `t.vcd:11: expected a 1-bit or real net "no", found ` + all,
		"top.tx":     "0..1 high",
		"alias":      "0..1 high",
		"rx":         "0..1 low",
		"rx[0]":      "0..1 low",
		"top.rx[0]":  "0..1 low",
		"top.rx":     "0..1 low",
		"top.sub.tx": "0..1 unknown lost(0..1 why 1 unknown)",
		"volts":      "0..1 unknown 0:2V",
	} {
		s, err := open(strings.NewReader(header), Options{Net: net})
		var got string
		if err != nil {
			got = err.Error()
		} else if c, err := capturetest.Collect(s); err != nil {
			got = err.Error()
		} else {
			got = c.String()
		}
		if got != want {
			t.Errorf("net %q\ngot  %s\nwant %s", net, got, want)
		}
	}
}

func TestManyNets(t *testing.T) {
	var b strings.Builder
	b.WriteString("$timescale 1 ns $end\n")
	for i := range 20000 {
		fmt.Fprintf(&b, "$var wire 1 n%x n%d $end\n", i, i)
	}
	b.WriteString("$enddefinitions $end\n#0\n1n1fff\n0n2\n#1\n0n1fff\n")
	_, err := open(strings.NewReader(b.String()), Options{})
	if err == nil || !strings.HasSuffix(err.Error(), "n8, n9 and 19990 more") {
		t.Errorf("got %v", err)
	}
	s, err := open(strings.NewReader(b.String()), Options{Net: "n8191"})
	if err != nil {
		t.Fatal(err)
	}
	if c, err := capturetest.Collect(s); err != nil || c.String() != "0..1 high 1:low" {
		t.Errorf("got %s, error %v", c.String(), err)
	}
}

func TestCuts(t *testing.T) {
	for _, text := range []string{uartVector, pyvcdVector, both + "#0\n$dumpvars 1! r1 v $end\n#5\n$dumpoff x! rNaN v $end\n#7\n$dumpon 0! r2 v $end\n#8\n1!\n"} {
		format.Cuts(t, []byte(text))
	}
}

func generated(n int64) io.Reader {
	i := int64(0)
	return capturetest.Repeat(one+"#0\n1!\n", n, func(p []byte) []byte {
		i++
		p = strconv.AppendInt(append(p, '#'), i*104, 10)
		return append(p, '\n', byte('0'+i&1), '!', '\n')
	})
}

func TestMemory(t *testing.T) { format.Memory(t, shortBytes, generated) }
func TestAllocs(t *testing.T) { format.Allocs(t, generated(400<<10)) }

type closer struct {
	io.Reader
	err error
}

func (c closer) Close() error { return c.err }

func TestCloseAndProgress(t *testing.T) {
	want := errors.New("closed")
	r, err := Open(closer{strings.NewReader(uartVector), want}, "t.vcd", Options{Size: 12})
	if err != nil {
		t.Fatal(err)
	}
	if r.BytesRead() != int64(len(uartVector)) || r.Info().Size != 12 || r.Close() != want {
		t.Errorf("read %d of %d, size %d", r.BytesRead(), len(uartVector), r.Info().Size)
	}
}

func FuzzReader(f *testing.F) {
	for _, s := range []string{uartVector, pyvcdVector, one + "#0\n1!\n#5\nx!\n#6\n0!\n", both + "1!\nr1 v\n#4\n$dumpoff x! $end\n#5\n1!\nrNaN v\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) { format.Fuzz(t, data) })
}
