package vcd

import (
	"math/rand/v2"
	"strconv"
	"testing"

	"linewitness/capture"
)

// The eight-at-a-time reading of time stamps agrees with strconv for every length, and leaves the rest to the slow path.
func TestStampOfEveryLength(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	for digits := 0; digits <= 22; digits++ {
		for range 200 {
			s := "#"
			for range digits {
				s += string(rune('0' + r.IntN(10)))
			}
			for _, end := range []string{"\n", "\r\n", " ", "x", "/", ":", "\xff", "\x00"} {
				var w [room]byte
				for i := range w {
					w[i] = byte(r.IntN(256)) // whatever follows must not matter
				}
				n := copy(w[:], s+end)
				if n < len(s)+len(end) {
					continue
				}
				got, length := stamp(&w)
				want, err := strconv.ParseInt(s[1:], 10, 64)
				if blank := end[0] <= ' '; digits == 0 || digits > 18 || !blank {
					if length != 0 {
						t.Fatalf("%q: got %d, %d; it is for the slow path", s+end, got, length)
					}
					continue
				}
				if err != nil || got != capture.Tick(want) || length != len(s)+1 {
					t.Fatalf("%q: got %d, length %d, want %d, %d (%v)", s+end, got, length, want, len(s)+1, err)
				}
			}
		}
	}
}
