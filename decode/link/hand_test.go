package link_test

import (
	"encoding/hex"
	"fmt"
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// gap of a test's framing in seconds, and the distance of its characters' starts in ticks of a nanosecond.
const (
	handGap  = 4e-3
	handStep = 1_200_000
	handLong = 1_000_000
)

// byHand makes the characters of one burst, 1 ms long and 0.2 ms apart, with silence and knowledge around them.
func byHand(values ...uint16) (uart.Chars, burst.Batch) {
	var c uart.Chars
	for i, v := range values {
		at := capture.Tick(1e9 + i*handStep)
		c.Chars = append(c.Chars, uart.Character{At: at, End: at + handLong, Value: v, Space: capture.Low})
	}
	c.Ends = []int{len(values)}
	end := capture.Tick(1e9 + len(values)*handStep)
	return c, burst.Batch{Bursts: []burst.Span{{Before: 0, Until: end + 1e9}}}
}

func cutByHand(p *link.Profile, c *uart.Chars, b *burst.Batch) []link.Frame {
	var f link.Frames
	link.NewCutter(p, capture.Nanoseconds).Cut(&f, c, b)
	return f.Frames
}

// shown is each frame as hex and, behind a colon, what it broke.
func shown(frames []link.Frame) string {
	var parts []string
	for i := range frames {
		f := &frames[i]
		s := ""
		for _, v := range f.Values {
			s += fmt.Sprintf("%02X", v)
		}
		if f.Why != 0 {
			s += ":" + strings.Join(f.Why.Names(), "+")
		}
		parts = append(parts, s)
	}
	return strings.Join(parts, " ")
}

// characters reads octets in hex, blanks ignored.
func characters(t testing.TB, text string) []uint16 {
	t.Helper()
	var v []uint16
	for _, b := range octets(t, text) {
		v = append(v, uint16(b))
	}
	return v
}

func octets(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// sum is a checksum by its name, at a place from the end, over [from, at).
func sum(t testing.TB, name string, from, at int) *checksum.Spec {
	t.Helper()
	s, err := checksum.Parse(name)
	if err != nil {
		t.Fatal(err)
	}
	return &checksum.Spec{Sum: s, From: from, To: at, At: at}
}
