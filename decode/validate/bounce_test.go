package validate_test

import (
	"testing"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/validate"
)

// drawn is a line of 1,200 Bd from a mark, in microseconds: how long it stands at space, mark, space and so on.
func drawn(widths ...int64) *validate.Fold {
	p := &link.Profile{Line: uart.Line{Speed: 1200, Format: uart.Format{DataBits: 8, StopHalfs: 2}}}
	f := validate.NewFold(p, capture.Clock{Num: 1e6, Den: 1})
	at, to := []capture.Tick{1000}, []capture.Level{capture.Low}
	for i, w := range widths {
		at, to = append(at, at[i]+capture.Tick(w)), append(to, [...]capture.Level{capture.High, capture.Low}[i%2])
	}
	for i := range at { // as bursts may come
		f.Edges(at[i:i+1], to[i:i+1], i == 0)
	}
	return f
}

// A loss is a space of over two characters, 16.7 ms; bounce are pulses under half a bit, 417 us, within 10 ms of its ends.
func TestBounceAtLosses(t *testing.T) {
	t.Parallel()
	bits := []int64{833, 833, 833, 833, 1666, 833}
	loss := func(w ...int64) (all []int64) {
		for range 4 {
			all = append(all, bits...)
			all = append(append(all, w...), 400000)
		}
		return all
	}
	for _, c := range []struct {
		name                        string
		widths                      []int64
		losses, before, after, both int64
	}{
		{"talk", loss(833), 0, 0, 0, 0},
		{"losses with clean ends", loss(50000), 4, 0, 0, 0},
		{"bounce at the beginning", loss(3000, 200, 50000), 4, 4, 0, 0},
		{"bounce at the end", loss(50000, 200, 300), 4, 0, 4, 0},
		{"bounce at both ends", loss(3000, 200, 50000, 100, 300, 100, 900), 4, 4, 4, 4},
		{"a pulse long after", loss(50000, 20000, 300), 4, 0, 0, 0},
	} {
		all := drawn(c.widths...).FactList()
		for id, want := range map[string]int64{"errors.bounce-before": c.before, "errors.bounce-after": c.after, "errors.bounce-both": c.both} {
			x := factOf(t, all, id, capture.Line)
			if x.N != c.losses || x.Times.N != want || x.Measured() != (c.losses > 0) {
				t.Errorf("%s: %s is %+v, want %d of %d", c.name, id, x, want, c.losses)
			}
			if want == 4 && !(x.P < 1e-2) || want == 0 && c.losses > 0 && x.P != 1 {
				t.Errorf("%s: %s has p %g", c.name, id, x.P)
			}
		}
		if x := factOf(t, all, "errors.losses", capture.Line); x.N != c.losses || !(x.High > x.Value) {
			t.Errorf("%s: %+v", c.name, x)
		}
	}
}
