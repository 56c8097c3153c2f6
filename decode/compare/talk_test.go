package compare_test

import (
	"math/rand/v2"

	"linewitness/capture"
	"linewitness/decode/compare"
	"linewitness/decode/link"
)

// talk is an invented dialogue of polls and replies, as it is on the line.
type talk struct {
	polls    int
	period   float64 // s
	waver    float64 // s, standard deviation of when a poll and a reply begin
	contents int     // frames a side until contents repeat; 1: all alike
	slots    int     // of a schedule with differences of its own; 0: none
	walks    bool    // each poll is timed from the last one, so that wavering adds up
}

const (
	bit      = 1.0 / 1200
	pollLong = 88 * bit
	replLong = 66 * bit
)

// event is a frame on the line; at in s.
type event struct {
	at, long float64
	side     capture.Side
	hash     uint64
}

func (k talk) events(r *rand.Rand) (all []event) {
	next := 0.5
	for i := range k.polls {
		at := next + k.waver*r.NormFloat64()
		all = append(all, event{at, pollLong, capture.Indoor, uint64(i%k.contents) + 1})
		turn := 0.024 + k.waver/4*r.NormFloat64()
		all = append(all, event{at + pollLong + turn, replLong, capture.Outdoor, uint64(i%k.contents) + 1<<40})
		if next += k.period; k.walks {
			next = at + k.period
		}
		if k.slots > 0 {
			next += 3e-3 * float64(i*7%k.slots)
		}
	}
	return all
}

var nano = capture.Clock{Num: 1e9, Den: 1}

// probe is a recorder at one end.
type probe struct {
	from, to float64                    // s on the line's time, what it records
	zero     float64                    // s on its own axis at from
	drift    float64                    // its clock counts more
	noise    float64                    // s, of an instant
	hears    func(i int, e event) heard // what becomes of a frame; nil: all are whole
}

type heard uint8

const (
	whole heard = iota
	damaged
	missing
	wrong // sent so: damaged with the same characters wherever it is heard
)

func (p probe) record(all []event, r *rand.Rand) *compare.Recording {
	axis := func(t float64) capture.Tick { return nano.Ticks(p.zero + (t-p.from)*(1+p.drift)) }
	rec := &compare.Recording{Clock: nano, From: axis(p.from), To: axis(p.to), Bit: bit}
	for i, e := range all {
		if e.at < p.from || e.at+e.long > p.to {
			continue
		}
		at := e.at + p.noise*r.NormFloat64()
		f := compare.Frame{At: axis(at), End: axis(at + e.long), Hash: e.hash, Side: e.side, Poll: e.side == capture.Indoor, Length: 8}
		if p.hears != nil {
			switch p.hears(i, e) {
			case missing:
				continue
			case damaged:
				f.Why, f.Hash = link.WhyChecksum, r.Uint64()
			case wrong:
				f.Why, f.Hash = link.WhyChecksum, ^e.hash
			}
		}
		rec.Frames = append(rec.Frames, f)
	}
	return rec
}

func source(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 1)) }
