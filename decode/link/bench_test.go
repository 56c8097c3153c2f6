package link_test

import (
	"fmt"
	"testing"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// batch is about 4,096 characters of good frames, bunch of them a burst.
func batch(frame []uint16, bunch int, breaks bool) (uart.Chars, burst.Batch) {
	var all uart.Chars
	var b burst.Batch
	for at := capture.Tick(1e9); len(all.Chars) < 4096; at += 1e9 {
		from := len(all.Chars)
		for range bunch {
			for i, v := range frame {
				c := uart.Character{At: at, End: at + handLong, Value: v, Space: capture.Low}
				if breaks && i == 0 {
					c.Fault = uart.FaultBreak | uart.FaultStop
				}
				all.Chars = append(all.Chars, c)
				at += handStep
			}
		}
		all.Ends = append(all.Ends, len(all.Chars))
		b.Bursts = append(b.Bursts, span(all.Chars[from:]))
	}
	return all, b
}

func span(c []uart.Character) burst.Span {
	return burst.Span{Before: c[0].At - 9e8, Until: c[len(c)-1].End + 9e8}
}

type benched struct {
	name  string
	p     *link.Profile
	frame string
}

func links(t testing.TB) []benched {
	rtu, shaped := link.ModbusRTU(line9600), ft12(t, false)
	rtu.Framing.Gap, rtu.Framing.Inside = handGap, 0
	shaped.Shapes = []link.Shape{{Name: "one", Length: 5, Match: []link.Match{{At: 1, Mask: 0xFF, Value: 0x40}}}, {Name: "two", Length: 5}}
	return []benched{
		{"modbus", rtu, "1103007C00020743"}, {"long", rtu, "110304008D008EFBBD"}, {"fixed", shaped, "105B015C16"}, {"length", ft12(t,
			true), "68030368530150A416"},
		{"hex", modbusASCII(t), text(":1103007C00026E\r\n")}, {"break", lin(t, 2), "0055504A5593E596"},
	}
}

// go test ./decode/link -run '^$' -bench Cut -count 6
func BenchmarkCut(b *testing.B) {
	for _, l := range links(b) {
		for _, bunch := range []int{1, 8} {
			chars, bursts := batch(characters(b, l.frame), bunch, l.p.Framing.Break)
			if l.p.Framing.Modbus && bunch > 1 {
				continue // silence alone parts its frames
			}
			for _, parser := range []bool{true, false} {
				b.Run(fmt.Sprintf("link=%s/bunch=%d/parser=%v", l.name, bunch, parser), func(b *testing.B) {
					k := link.NewCutter(l.p, capture.Nanoseconds)
					if !parser {
						k = k.Direct()
					}
					var f link.Frames
					b.ReportAllocs()
					for b.Loop() {
						f.Reset()
						k.Cut(&f, &chars, &bursts)
					}
					b.ReportMetric(float64(len(chars.Chars))*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mchar/s")
				})
			}
		}
	}
}

// go test ./decode/link -run '^$' -bench Compose
func BenchmarkCompose(b *testing.B) {
	p := ft12(b, true)
	p.Shapes = []link.Shape{{Name: "data", Length: 9, Constant: octets(b, "680303685301"), Fields: []link.Field{{Name: "kind", At: 6}}}}
	set := map[string]int64{"kind": 0x50}
	dst := make([]uint16, 0, 16)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := p.Compose(dst, 0, set); err != nil {
			b.Fatal(err)
		}
	}
}
