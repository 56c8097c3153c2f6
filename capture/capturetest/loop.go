package capturetest

import (
	"io"
	"math"
	"math/rand/v2"

	"linewitness/capture"
)

// Loop makes the volts from S to N of a current loop, for tests: a unit that feeds it through its sender and a resistor,
// another that returns it through a resistor and its sender, and the cable's capacitance between S and N. Both conducting:
// mark; the other open: up to the supply; the feeding one open: down to 0. In each state the volts run exponentially
// to where they would come to rest. The zero value with Rate and Seconds is an idle line of 24 V with mark in the middle.
type Loop struct {
	Rate    int     // samples a second
	Seconds float64 // length

	Feed, Other *capture.Block // what each sender does: High conducts, Low is open; nil: conducts always

	Supply float64 // V; 0: 24
	Place  float64 // of mark between 0 and the supply; 0: a half
	Tau    float64 // s: cable capacitance times the sum of both resistors; 0: sharp edges

	Factor func(s float64) float64 // on the supply, at a time in seconds: dips, ripple; nil: 1
	Series func(s float64) float64 // V in series with the return conductor: its drop; nil: none
	Joint  func(s float64) float64 // in S, relative to the sum of both resistors, seen at the end that does not feed; nil: none
	Extra  func(s float64) float64 // V on top of everything: pickup, spikes; nil: none
	Noise  float64                 // standard deviation, V
	Bits   int                     // of the converter; 0: no steps
	Full   float64                 // V at which it clips; 0: never
	Seed   uint64
}

// Clock is 1,024 ticks a sample.
func (l *Loop) Clock() capture.Clock { return capture.Clock{Num: int64(l.Rate) * 1024, Den: 1} }

// Info describes the line as a recording.
func (l *Loop) Info() capture.Info {
	return capture.Info{Name: "loop", Format: "test", Clock: l.Clock(), Volts: true, FullScale: l.Full}
}

// Block is the whole line from 0 on.
func (l *Loop) Block() *capture.Block {
	n := int(math.Round(l.Seconds * float64(l.Rate)))
	b := &capture.Block{End: capture.Tick(n) * 1024}
	b.SampleAt, b.Volts = make([]capture.Tick, n), make([]float64, n)
	feed, other := player{b: l.Feed}, player{b: l.Other}
	r := rand.New(rand.NewPCG(l.Seed, 0x5107))
	clock := l.Clock()
	v, now := math.NaN(), capture.Tick(0)
	for i := range n {
		t := capture.Tick(i) * 1024
		for {
			next := min(feed.next(), other.next(), t)
			v = l.settle(v, feed.on(), other.on(), clock.Seconds(now), clock.Seconds(next-now))
			if now = next; next == t {
				break
			}
			feed.pass(next)
			other.pass(next)
		}
		feed.pass(t)
		other.pass(t)
		b.SampleAt[i], b.Volts[i] = t, l.measure(v, clock.Seconds(t), r)
	}
	return b
}

// settle is the volts after dt seconds in a state.
func (l *Loop) settle(v float64, feed, other bool, t, dt float64) float64 {
	supply, place := l.Supply, l.Place
	if supply == 0 {
		supply = 24
	}
	if place == 0 {
		place = 0.5
	}
	if l.Factor != nil {
		supply *= l.Factor(t)
	}
	if l.Series != nil {
		supply += l.Series(t)
	}
	joint := 0.0
	if l.Joint != nil {
		joint = l.Joint(t)
	}
	goal, tau := supply*place/(1+joint), l.Tau*place*(1-place)
	switch {
	case feed && !other:
		goal, tau = supply, l.Tau*(1-place+joint)
	case !feed && other:
		goal, tau = 0, l.Tau*place
	case !feed:
		goal, tau = 0, l.Tau*100 // the probe alone pulls it down
	}
	if v != v || tau <= 0 {
		return goal
	}
	return goal + (v-goal)*math.Exp(-dt/tau)
}

// measure is what the converter makes of v.
func (l *Loop) measure(v, t float64, r *rand.Rand) float64 {
	if l.Extra != nil {
		v += l.Extra(t)
	}
	if l.Noise > 0 {
		v += l.Noise * r.NormFloat64()
	}
	if l.Full > 0 {
		v = min(max(v, -l.Full), l.Full)
		if l.Bits > 0 {
			step := l.Full / float64(int64(1)<<(l.Bits-1))
			v = min(math.Round(v/step)*step, l.Full-step)
		}
	}
	return v
}

// player walks through what a sender does.
type player struct {
	b *capture.Block
	i int
}

func (p *player) next() capture.Tick {
	if p.b == nil || p.i == len(p.b.At) {
		return math.MaxInt64
	}
	return p.b.At[p.i]
}

func (p *player) pass(t capture.Tick) {
	for p.next() <= t {
		p.i++
	}
}

func (p *player) on() bool {
	switch {
	case p.b == nil:
		return true
	case p.i == 0:
		return p.b.First != capture.Low
	}
	return p.b.To[p.i-1] != capture.Low
}

// Pieces gives a block of samples as a source, in blocks of so many.
func Pieces(info capture.Info, all *capture.Block, size int) capture.Source {
	return &pieces{info: info, all: all, size: size}
}

type pieces struct {
	info capture.Info
	all  *capture.Block
	size int
	pos  int
}

func (p *pieces) Info() capture.Info { return p.info }
func (p *pieces) Close() error       { return nil }

func (p *pieces) Next(b *capture.Block) error {
	if p.pos >= len(p.all.Volts) {
		return io.EOF
	}
	b.Reset()
	to := min(p.pos+p.size, len(p.all.Volts))
	b.Start, b.End = p.all.SampleAt[p.pos], p.all.End
	if to < len(p.all.Volts) {
		b.End = p.all.SampleAt[to]
	}
	b.SampleAt, b.Volts = append(b.SampleAt, p.all.SampleAt[p.pos:to]...), append(b.Volts, p.all.Volts[p.pos:to]...)
	p.pos = to
	return nil
}
