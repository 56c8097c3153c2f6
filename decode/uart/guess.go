package uart

import (
	"errors"
	"math"
	"slices"

	"linewitness/capture"
	"linewitness/capture/burst"
)

// ErrNoTalk comes from Guess where there is too little to read a speed from.
var ErrNoTalk = errors.New("too few level changes to tell speed and format: at least 20 are needed")

const (
	fewest    = 20   // transitions
	mostTried = 6000 // transitions that a guess looks at

	firstTried  = 1500 // of them, those on which every way of reading is tried
	secondTried = 10   // ways of reading tried on all
)

// Guessed is one reading of a line. Bits is its cost: -log2 of its likelihood, up to a constant that all readings of the
// same recording share. PPM is the half width of the speed's 95 % interval.
type Guessed struct {
	Line
	Bits       float64
	PPM        float64
	Characters int
	Broken     int // characters that break the format
	Equivalent []string
}

// Guess finds speed, format and polarity from transitions alone, best reading first (at most 12), from about 100 Bd to
// 1 MBd. The first one's Equivalent names what the data cannot tell apart from it.
//
// It compares description lengths: each way of reading the line must spend bits on every character's data, on every
// start that does not follow the character before at once, on every broken rule, and on where each edge stands within
// its unit interval. Parity saves a bit for each distinct character that keeps it.
func Guess(t capture.Transitions, c capture.Clock) ([]Guessed, error) {
	return guess(t, c, []bool{false, true})
}

// GuessUpright is Guess where high is known to be mark.
func GuessUpright(t capture.Transitions, c capture.Clock) ([]Guessed, error) {
	return guess(t, c, []bool{false})
}

func guess(t capture.Transitions, c capture.Clock, polarities []bool) ([]Guessed, error) {
	if len(t.At) > mostTried {
		t = capture.Transitions{At: t.At[:mostTried], To: t.To[:mostTried]}
	}
	if len(t.At) < fewest {
		return nil, ErrNoTalk
	}
	g := &guesser{t: t, clock: c, polarities: polarities}
	g.sieve(g.units())
	if len(g.found) == 0 {
		return nil, ErrNoTalk
	}
	return g.name(), nil
}

// sieve tries every way of reading on the first transitions, and the best of them on all.
func (g *guesser) sieve(units []float64) {
	all := g.t
	if n := len(all.At); n > firstTried {
		g.t = capture.Transitions{At: all.At[:firstTried], To: all.To[:firstTried]}
	}
	for _, bit := range units {
		for _, inverted := range g.polarities {
			for data := uint8(5); data <= 10; data++ {
				g.try(bit, data, inverted)
			}
		}
	}
	byCost := func(a, b reading) int { return cmpFloat(a.cost, b.cost) }
	slices.SortStableFunc(g.found, byCost)
	if len(all.At) == len(g.t.At) {
		return
	}
	best := g.found[:min(len(g.found), secondTried)]
	g.t, g.found = all, nil
	for i := range best {
		g.try(best[i].bit, best[i].data, best[i].inverted)
	}
	slices.SortStableFunc(g.found, byCost)
}

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// reading is one raw way to read the line: data counts the bits between start and stop, parity included.
type reading struct {
	bit      float64
	ppm      float64
	data     uint8
	inverted bool
	cost     float64
	chars    []Character
	gaps     []float64 // idle behind each character but the last, bits, with one stop bit
	broken   int
}

type guesser struct {
	polarities []bool
	t          capture.Transitions
	clock      capture.Clock
	found      []reading
	floor      float64 // finest edge position that counts, ticks
}

// units are the unit intervals worth trying: a half, a third and all of the shortest common pulse, of the shortest
// common pulses of both states taken together, since bias moves one against the other, and of the shortest that are
// clearly longer, since the shortest may be spikes.
func (g *guesser) units() []float64 {
	var all, high, low []float64
	for i := 1; i < len(g.t.At); i++ {
		w := float64(g.t.At[i] - g.t.At[i-1])
		all = append(all, w)
		if g.t.To[i-1] == capture.High {
			high = append(high, w)
		} else {
			low = append(low, w)
		}
	}
	s, h, l := shortest(all), shortest(high), shortest(low)
	if h > 0 && l > 0 && h < 2*l && l < 2*h {
		s = (h + l) / 2 // bias cancels
	}
	g.floor = max(1, s*0.01)
	var units []float64
	for _, base := range []float64{s, (h + l) / 3, min(h, l), shortest(longer(all, 1.6*s))} {
		for n := 1.0; n <= 4; n++ {
			u := g.refine(base / n)
			if u >= 2 && !slices.ContainsFunc(units, func(v float64) bool { return math.Abs(u/v-1) < 0.002 }) {
				units = append(units, u)
			}
		}
	}
	return units
}

// longer are the pulses over a width.
func longer(w []float64, than float64) (l []float64) {
	for _, v := range w {
		if v > than {
			l = append(l, v)
		}
	}
	return l
}

// shortest is the middle of the shortest cluster of pulses that holds at least one in fifty of them; 0 for none.
func shortest(w []float64) float64 {
	if len(w) < 4 {
		return 0
	}
	w = slices.Clone(w)
	slices.Sort(w)
	need := max(3, len(w)/50)
	for i := 0; i+need <= len(w); i++ {
		j := i
		for j < len(w) && w[j] <= w[i]*1.35 {
			j++
		}
		if j-i >= need {
			return w[(i+j)/2]
		}
	}
	return w[0]
}

// refine fits the unit interval to distances between like edges, short ones first so that whole numbers stay certain.
func (g *guesser) refine(u float64) float64 {
	for _, most := range []float64{2.5, 4.5, 8.5, 11.5} {
		var num, den float64
		for i := 2; i < len(g.t.At); i++ {
			d := float64(g.t.At[i] - g.t.At[i-2])
			if i >= 4 && most > 4.5 {
				if d4 := float64(g.t.At[i] - g.t.At[i-4]); d4 < most*u {
					d = d4
				}
			}
			if d > most*u {
				continue
			}
			n := math.Round(d / u)
			if math.Abs(d/u-n) < 0.35 {
				num += n * d
				den += n * n
			}
		}
		if den > 0 {
			u = num / den
		}
	}
	return u
}

// try reads the line with a unit interval, polarity and number of bits between start and stop.
func (g *guesser) try(bit float64, data uint8, inverted bool) {
	r := reading{bit: bit, data: data, inverted: inverted}
	var chars Chars
	for range 2 {
		chars.Reset()
		d := g.decoder(&r)
		batch := burst.Batch{At: g.t.At, To: g.t.To, Bursts: []burst.Span{{To: len(g.t.At),
			Before: g.t.At[0], Until: g.t.At[len(g.t.At)-1], Ends: true, Begins: true}}}
		d.Decode(&chars, &batch)
		fit := total(chars.Fits)
		slope, stderr := fit.Slope()
		if math.IsNaN(slope) || math.Abs(slope) > 0.05 {
			break
		}
		r.bit *= 1 + slope
		r.ppm = 1.96e6 * stderr
	}
	if len(chars.Chars) < 2 {
		return
	}
	r.chars = chars.Chars
	g.cost(&r, len(chars.Glitches))
	g.found = append(g.found, r)
}

func total(fits []CharFit) (f Fit) {
	for _, c := range fits {
		f.AddChar(c)
	}
	return f
}

func (g *guesser) decoder(r *reading) *Decoder {
	l := Line{Speed: g.clock.PerSecond() / r.bit, Format: Format{DataBits: r.data, StopHalfs: 2}, Inverted: r.inverted}
	return NewDecoder(l, g.clock)
}

// Costs in bits: of a start after a pause (the pause's length), of a broken rule, of a pulse passed over.
const (
	costPause  = 12
	costBroken = 14
	costGlitch = 24
)

// cost is the description length of the line under a reading, without parity.
func (g *guesser) cost(r *reading, glitches int) {
	var sum, moved float64
	edges := 0
	for i := range r.chars {
		c := &r.chars[i]
		sum += float64(r.data) + 1
		if c.Fault&(FaultStop|FaultBreak) != 0 {
			sum += costBroken
			r.broken++
		}
		// The spread of a character's edges stands for the displacement of each.
		spread := float64(c.Isochronous()) * r.bit / 2
		edges += int(c.Edges)
		moved += float64(c.Edges) * spread * spread
		if i == 0 {
			continue
		}
		r.gaps = append(r.gaps, float64(c.At-r.chars[i-1].End)/r.bit)
	}
	stop := float64(stopHalfs(r.gaps))/2 - 1
	for _, idle := range r.gaps {
		if idle > stop+0.3 {
			sum += costPause
		}
	}
	if edges > 0 {
		rms := math.Sqrt(moved / float64(edges))
		sum += float64(edges) * math.Log2(max(rms, g.floor)/g.floor)
	}
	r.cost = sum + float64(glitches)*costGlitch
}
