package decode_test

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/file"
	"linewitness/decode"
	"linewitness/decode/link"
	"linewitness/decode/link/linkfile"
	"linewitness/decode/uart/uarttest"
)

// profile is one of the shipped profiles.
func profile(name string) *link.Profile {
	path := filepath.Join("..", "fixtures", "profiles", name+".yaml")
	data, err := os.ReadFile(path)
	if err != nil {
		panic(err)
	}
	p, err := linkfile.Read(path, data)
	if err != nil {
		panic(err)
	}
	return p
}

// polled is a poll and its reply by their kinds, and the values they carry in the fields' units.
type polled struct {
	ask, answer string
	asked, said map[string]float64
}

// converse is a dialogue by a profile, each unit on a wire, which may be the same.
func converse(p *link.Profile, seed uint64, asks, answers *uarttest.Wire, all []polled) {
	r := rand.New(rand.NewPCG(seed, 41))
	s := uarttest.Sender{Line: p.Line, Bias: 0.01, Jitter: 0.005, Rand: r}
	reply := s
	reply.Bias, reply.Speed = -0.015, s.Speed*(1+300e-6)
	idle := func(t float64) { asks.Now, answers.Now = asks.Now+t, asks.Now+t }
	idle(0.2)
	for _, x := range all {
		start := asks.Now
		asks.Send(s, composed(p, x.ask, x.asked)...)
		answers.Now = asks.Now
		idle(p.Timing.TurnaroundMin + (0.2+0.5*r.Float64())*(p.Timing.TurnaroundMax-p.Timing.TurnaroundMin))
		answers.Send(reply, composed(p, x.answer, x.said)...)
		asks.Now, answers.Now = start+p.Timing.PollPeriod, start+p.Timing.PollPeriod
	}
	idle(0.3)
}

// composed is a frame's characters.
func composed(p *link.Profile, shape string, values map[string]float64) []uint16 {
	for i := range p.Shapes {
		s := &p.Shapes[i]
		if s.Name != shape {
			continue
		}
		set := map[string]int64{}
		for k := range s.Fields {
			if v, ok := values[s.Fields[k].Name]; ok {
				n, err := s.Fields[k].NumberFor(v)
				if err != nil {
					panic(err)
				}
				set[s.Fields[k].Name] = n
			}
		}
		c, err := p.Compose(nil, i, set)
		if err != nil {
			panic(err)
		}
		return c
	}
	panic("no frame is called " + shape)
}

// heronCooling: a room cools from 28 to 24 degC while the compressor slows down.
func heronCooling() (all []polled) {
	for i := range 40 {
		x, seq := float64(i), float64(i%16)
		all = append(all, polled{"demand", "state",
			map[string]float64{"sequence": seq, "mode": 1, "set point": 24, "room temperature": 28 - x/10, "indoor coil": 12, "compressor demand": 80 - x},
			map[string]float64{"sequence": seq, "compressor": 78 - x, "discharge": 70 + x/4, "supply current": 6.4 - x/20}})
	}
	return all
}

func sorrelRoom() (all []polled) {
	for i := range 12 {
		all = append(all, polled{"ask", "room", map[string]float64{"outdoor air": -3, "limit": float64(i % 2)},
			map[string]float64{"room temperature": 19.5 + float64(i)*0.03, "set point": 21.5, "fan": 3, "run time": 7}})
	}
	return all
}

func brackenRooms() (all []polled) {
	for i := range 40 {
		unit := float64(0x11 + i%2)
		all = append(all, polled{"call", "report", map[string]float64{"unit": unit, "sequence": float64(i % 256), "capacity": 60},
			map[string]float64{"unit": unit, "sequence": float64(i % 256), "room temperature": 22.5 - 2*float64(i%2), "valve": float64(100 + i)}})
	}
	return all
}

func tarnService() (all []polled) {
	for i := range 60 {
		item := float64(1 + i%3)
		all = append(all, polled{"query", "reading", map[string]float64{"item": item},
			map[string]float64{"item": item, "compressor": 45.5, "module temperature": 61, "valve": 0x7D7E, "trips": 4}}) // its octets look like marks
	}
	return all
}

// oneWire is a dialogue on one line of two levels.
func oneWire(name string, seed uint64, all []polled) *uarttest.Wire {
	p := profile(name)
	w := &uarttest.Wire{Clock: capture.Nanoseconds, High: p.Line.Inverted}
	converse(p, seed, w, w, all)
	return w
}

// sorrel is the Sorrel loop in volts at the outdoor terminals: the indoor unit feeds and answers.
func sorrel() *capturetest.Loop {
	l := capturetest.Loop{Rate: 8000, Supply: -48, Place: 0.62, Noise: 0.08, Full: alderFull, Bits: 16, Seed: 17}
	asks, answers := &uarttest.Wire{Clock: l.Clock()}, &uarttest.Wire{Clock: l.Clock()}
	converse(profile("sorrel-loop"), 5, asks, answers, sorrelRoom())
	l.Other, l.Feed, l.Seconds = asks.Block(), answers.Block(), asks.Now
	return &l
}

// By its profile each make is read to the values that its units sent, by the units' own names.
func TestMakesAreReadToTheirValues(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		recording, profile string
		tap                capture.Tap
		all                []polled
		sides              [2]capture.Side
	}{
		{"heron-loop-cooling.csv", "heron-loop", capture.LoopCurrent, heronCooling(), [2]capture.Side{capture.Indoor, capture.Outdoor}},
		{"sorrel-loop-room.wav", "sorrel-loop", capture.OutdoorTerminal, sorrelRoom(), [2]capture.Side{capture.Outdoor, capture.Indoor}},
		{"bracken-line-rooms.vcd", "bracken-line", capture.Pair, brackenRooms(), [2]capture.Side{capture.Outdoor, capture.Indoor}},
		{"tarn-port-service.vcd", "tarn-port", capture.BoardPin, tarnService(), [2]capture.Side{capture.SideA, capture.SideB}},
	} {
		t.Run(c.recording, func(t *testing.T) {
			t.Parallel()
			src, err := file.Open(filepath.Join("..", "fixtures", "recordings", c.recording), nil, file.Options{FullScale: full(c.recording)})
			if err != nil {
				t.Fatal(err)
			}
			defer src.Close()
			f := examine(t, src, profile(c.profile), decode.Options{Tap: c.tap})
			for i, side := range c.sides {
				if s := &f.Senders[i]; s.Side != side || s.Frames != int64(len(c.all)) || s.Good != s.Frames {
					t.Errorf("%v: %d frames, %d good; want %v with %d", s.Side, s.Frames, s.Good, side, len(c.all))
				}
			}
			if v := f.Verdict.String(); v != "none/none" {
				t.Errorf("verdict %s: %s", v, f.Verdict.Summary)
			}
			for _, x := range c.all[:1] {
				carried(t, f, x.ask, x.asked, func(e polled) map[string]float64 { return e.asked }, c.all)
				carried(t, f, x.answer, x.said, func(e polled) map[string]float64 { return e.said }, c.all)
			}
		})
	}
}

// carried compares what was read of one kind of frame with what was sent.
func carried(t *testing.T, f *decode.Finding, shape string, first map[string]float64, of func(polled) map[string]float64, all []polled) {
	t.Helper()
	p := f.Link
	for field := range first {
		i := -1
		for k := range f.Values {
			if f.Values[k].Shape == shape && f.Values[k].Field == field {
				i = k
			}
		}
		if i < 0 {
			t.Errorf("%s of %s was not read", field, shape)
			continue
		}
		v, step := &f.Values[i], stepOf(p, shape, field)
		low, high := math.Inf(1), math.Inf(-1)
		for _, x := range all {
			low, high = math.Min(low, of(x)[field]), math.Max(high, of(x)[field])
		}
		near := func(a, b float64) bool { return math.Abs(a-b) <= step }
		last := of(all[len(all)-1])[field]
		if v.N != int64(len(all)) || v.Unread != 0 || !near(v.First, first[field]) || !near(v.Last, last) || !near(v.Low, low) || !near(v.High, high) {
			t.Errorf("%s of %s: %+v, want %v to %v, %v at first and %v at last, %d times", field, shape, *v, low, high, first[field], last, len(all))
		}
	}
}

// stepOf is half of what one unit of a field's number is worth; of a thermistor, what eight bits can tell.
func stepOf(p *link.Profile, shape, field string) float64 {
	for i := range p.Shapes {
		for k := range p.Shapes[i].Fields {
			switch f := &p.Shapes[i].Fields[k]; {
			case p.Shapes[i].Name != shape || f.Name != field:
			case f.Curve != nil:
				return 0.5
			case f.Scale != 0:
				return math.Abs(f.Scale)/2 + 1e-9
			}
		}
	}
	return 1e-9
}
