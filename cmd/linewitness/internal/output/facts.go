package output

import (
	"linewitness/capture"
	"linewitness/decode/validate"
)

// factJSON is one measured quantity. Low and High are its 95 % interval; null where there is none.
type factJSON struct {
	ID         string   `json:"id"`
	Side       string   `json:"side"`
	Value      number   `json:"value"`
	Low        number   `json:"low"`
	High       number   `json:"high"`
	Unit       string   `json:"unit"`
	N          int64    `json:"n"`     // what it rests on
	Times      int64    `json:"times"` // how often it showed, of which at_s has the first 20
	At         []moment `json:"at_s"`
	P          number   `json:"p"`          // chance on a sound line; null where no test says
	Unmeasured *string  `json:"unmeasured"` // why this tap or recording cannot tell it; null where it can
}

func newFact(x *validate.Fact, clock capture.Clock) factJSON {
	j := factJSON{
		ID: x.ID, Side: x.Side.String(), Value: number(x.Value), Low: number(x.Low), High: number(x.High), Unit: x.Unit, N: x.N,
		Times: x.Times.N, At: each(firstInstants(x.Times.At), func(t *capture.Tick) moment { return moment{*t, clock} }), P: number(x.P),
	}
	if !x.Measured() {
		j.Unmeasured = &x.Unmeasured
	}
	return j
}
