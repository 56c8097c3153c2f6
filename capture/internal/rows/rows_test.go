package rows_test

import (
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/capture/internal/rows"
)

// Instants are the exact quotients, rounded half away from zero; what they were moved by is the greatest difference.
func TestScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		term := rapid.OneOf(rapid.Int64Range(1, 1e15), rapid.SampledFrom([]int64{1, 1e9, 48000 * 1024, 44100 * 1024}))
		clock := capture.Clock{Num: term.Draw(t, "num"), Den: rapid.SampledFrom([]int64{1, 3, 100}).Draw(t, "den")}
		from := capture.Tick(rapid.Int64Range(-1e9, 1e9).Draw(t, "from"))
		to := from + capture.Tick(rapid.Int64Range(1, 1e15).Draw(t, "span"))
		var got []int64
		units := rows.Units{Per: capture.Nanoseconds, Name: "nanoseconds", Round: true}
		w, err := rows.New(capture.Info{Clock: clock, Levels: true}, units, func(r *rows.Row) error { got = append(got, r.At); return nil })
		if err != nil {
			t.Fatal(err)
		}
		err = w.Block(&capture.Block{Start: from, End: to, First: capture.Low})
		if err == nil {
			err = w.End()
		}
		first, moved := nearest(clock, from)
		last, other := nearest(clock, to)
		if !first.IsInt64() || !last.IsInt64() {
			if err == nil {
				t.Fatalf("got %v, want an error", got)
			}
			return
		}
		if moved.Cmp(other) < 0 {
			moved = other
		}
		want, _ := moved.Float64()
		if n := len(got); err != nil || got[0] != first.Int64() || got[n-1] != last.Int64() || n > 2 || w.Moved() != want {
			t.Fatalf("got %v moved by %v, error %v, want %v to %v moved by %v", got, w.Moved(), err, first, last, want)
		}
	})
}

// nearest is t in nanoseconds, and how far that is from the exact instant.
func nearest(c capture.Clock, t capture.Tick) (ns *big.Int, moved *big.Rat) {
	exact := new(big.Rat).SetFrac(big.NewInt(int64(t)), big.NewInt(c.Num))
	exact.Mul(exact, new(big.Rat).SetInt64(c.Den)).Mul(exact, new(big.Rat).SetInt64(1e9))
	half := new(big.Rat).SetFrac64(int64(exact.Sign()), 2)
	sum := new(big.Rat).Add(exact, half)
	ns = new(big.Int).Quo(sum.Num(), sum.Denom())
	moved = new(big.Rat).Sub(exact, new(big.Rat).SetInt(ns))
	return ns, moved.Abs(moved)
}
