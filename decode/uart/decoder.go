package uart

import (
	"math"
	"math/bits"

	"linewitness/capture"
	"linewitness/capture/burst"
)

const (
	glitchWidth = 0.25 // of the unit interval: shorter pulses inside a character are passed over
	startWidth  = 0.5  // of the unit interval: a shorter start element is none
)

// Fit has the sums of a line through the displacements of like edges, by characters: slope = Sxd/Sxx is the relative
// error of the unit interval. Sums of several characters may be added.
type Fit struct {
	Sxx, Sxd, Sdd float64
	DoF           int64 // degrees of freedom left before the slope itself is taken off
}

// Add folds g into f.
func (f *Fit) Add(g Fit) {
	f.Sxx += g.Sxx
	f.Sxd += g.Sxd
	f.Sdd += g.Sdd
	f.DoF += g.DoF
}

// AddChar folds one character's part into f.
func (f *Fit) AddChar(c CharFit) {
	f.Add(Fit{Sxx: float64(c.Sxx), Sxd: float64(c.Sxd), Sdd: float64(c.Sdd), DoF: int64(c.DoF)})
}

// Slope is the relative error of the unit interval (positive: longer than nominal) and its standard error. Both are
// NaN where there is nothing to fit.
func (f Fit) Slope() (slope, stderr float64) {
	if f.Sxx <= 0 || f.DoF < 2 {
		return math.NaN(), math.NaN()
	}
	slope = f.Sxd / f.Sxx
	rest := f.Sdd - slope*f.Sxd
	if rest < 0 {
		rest = 0
	}
	return slope, math.Sqrt(rest / float64(f.DoF-1) / f.Sxx)
}

// Chars is what a decoder finds: characters, a Fit for each, the sum of the k differences that bias needs, and glitches. The
// slices are parallel except for Glitches.
type Chars struct {
	Chars    []Character
	Fits     []CharFit
	Glitches []Glitch
	Ends     []int // index behind the last character of each burst
}

// CharFit is one character's part of a Fit in short form, and the mean bit position of its edges to space minus that of
// its edges to mark, by which a clock error leaks into Bias.
type CharFit struct {
	Sxx, Sxd, Sdd float32
	DoF           float32
	Lean          float32
}

// Reset empties c and keeps its storage.
func (c *Chars) Reset() {
	c.Chars, c.Fits, c.Glitches, c.Ends = c.Chars[:0], c.Fits[:0], c.Glitches[:0], c.Ends[:0]
}

// Decoder reads characters of one line whose transitions go from mark to space and back in turn (Fold makes such of more
// than two levels). It holds no state between bursts and may be shared.
type Decoder struct {
	line   Line
	bit    float64 // unit interval, ticks
	inv    float64 // 1/bit
	last   float64 // bits from the start edge to the middle of the first stop bit
	length float64 // nominal length, ticks
	short  capture.Tick
	start  capture.Tick
	mark   capture.Level
	data   uint
	ones   uint16 // mask of the data bits
}

// NewDecoder makes a decoder for a line on a clock. The unit interval must be at least two ticks long.
func NewDecoder(l Line, c capture.Clock) *Decoder {
	bit := c.PerSecond() / l.Speed
	d := &Decoder{line: l, bit: bit, inv: 1 / bit, mark: l.Mark(), data: uint(l.Format.DataBits)}
	d.last = float64(l.Format.Bits()) + 0.5
	d.length = l.Format.Length() * bit
	d.short = capture.Tick(glitchWidth * bit)
	d.start = capture.Tick(startWidth * bit)
	d.ones = uint16(1)<<d.data - 1
	return d
}

// Bit is the unit interval in ticks.
func (d *Decoder) Bit() float64 { return d.bit }

// Decode appends the characters of a batch to dst.
func (d *Decoder) Decode(dst *Chars, b *burst.Batch) {
	for i := range b.Bursts {
		d.Burst(dst, b, &b.Bursts[i])
		dst.Ends = append(dst.Ends, len(dst.Chars))
	}
}

// Burst appends the characters of one burst to dst.
func (d *Decoder) Burst(dst *Chars, b *burst.Batch, s *burst.Span) {
	at, to := b.At[s.From:s.To], b.To[s.From:s.To]
	to = to[:len(at)]
	n := len(at)
	for i := 0; i < n; {
		if to[i] == d.mark {
			i = d.afterMark(dst, at, i)
			continue
		}
		if i+1 < n && at[i+1]-at[i] < d.start {
			dst.Glitches = append(dst.Glitches, Glitch{At: at[i], Width: at[i+1] - at[i], Idle: true})
			i += 2
			continue
		}
		i = d.character(dst, at, i, s, to[i])
	}
}

// afterMark passes over a return to mark outside a character. Its only work is to notice a mark too short to count, in
// a line held at space.
func (d *Decoder) afterMark(dst *Chars, at []capture.Tick, i int) int {
	if i+1 < len(at) && i > 0 && at[i+1]-at[i] < d.short {
		dst.Glitches = append(dst.Glitches, Glitch{At: at[i], Width: at[i+1] - at[i], Mark: true, Idle: true})
		return i + 2
	}
	return i + 1
}

// sums are those of one kind of edge in a character.
type sums struct{ n, k, kk, d, kd, dd float64 }

// character reads the character whose start edge is at[i] and returns the index of the first edge that isn't its own.
func (d *Decoder) character(dst *Chars, at []capture.Tick, i int, s *burst.Span, start capture.Level) int {
	t0 := at[i]
	space := sums{n: 1} // the start edge itself: k = 0, d = 0
	var mark sums
	var late, early float64
	var bits, filled uint
	var fault Fault
	isMark := false
	j := i + 1
	for ; j < len(at); j++ {
		x := float64(at[j]-t0) * d.inv
		if x >= d.last {
			break
		}
		if j+1 < len(at) && at[j+1]-at[j] < d.short {
			dst.Glitches = append(dst.Glitches, Glitch{At: at[j], Width: at[j+1] - at[j], Mark: !isMark})
			fault |= FaultGlitch
			j++
			continue
		}
		k := uint(x + 0.5)
		e := x - float64(k)
		g := &mark
		if isMark {
			bits |= (1<<k - 1) &^ (1<<filled - 1)
			g = &space
		}
		filled = k
		isMark = !isMark
		kf := float64(k)
		g.n++
		g.k += kf
		g.kk += kf * kf
		g.d += e
		g.kd += kf * e
		g.dd += e * e
		late, early = max(late, e), min(early, e)
	}
	if isMark {
		bits |= ^uint(0) &^ (1<<filled - 1)
	}
	c := Character{At: t0, End: t0 + capture.Tick(d.length+0.5), Late: float32(late), Early: float32(early),
		Space: start, Edges: uint8(space.n + mark.n - 1)}
	c.Value = uint16(bits>>1) & d.ones
	c.Fault = fault | d.rules(bits, j, at, &c, s)
	fit := like(&space, &mark)
	c.Bias, fit.Lean = bias(&space, &mark)
	dst.Chars, dst.Fits = append(dst.Chars, c), append(dst.Fits, fit)
	return j
}

// rules finds what the character broke. j is the first edge behind it.
func (d *Decoder) rules(bits uint, j int, at []capture.Tick, c *Character, s *burst.Span) (f Fault) {
	stop := bits >> (d.line.Format.Bits()) & 1
	if stop == 0 {
		f |= FaultStop
		if bits&(1<<d.line.Format.Bits()-1) == 0 {
			f |= FaultBreak
		}
	} else if j < len(at) && float64(c.End-at[j]) > 0.5*d.bit {
		f |= FaultStop // the next start edge stands before the middle of the last stop bit
	}
	if d.line.Format.Parity != ParityNone && !d.parityOK(uint(c.Value), bits>>(1+d.data)&1) {
		f |= FaultParity
	}
	if j == len(at) && s.Ends && c.End > s.Until {
		f |= FaultCut
	}
	return f
}

func (d *Decoder) parityOK(value, bit uint) bool {
	odd := uint(bits.OnesCount(value) & 1)
	switch d.line.Format.Parity {
	case ParityEven:
		return bit == odd
	case ParityOdd:
		return bit != odd
	case ParityMark:
		return bit == 1
	default:
		return bit == 0
	}
}

// like sums both kinds of edges about their own means, so that a shift of one kind against the other cancels.
func like(a, b *sums) (f CharFit) {
	for _, g := range [...]*sums{a, b} {
		if g.n < 2 {
			continue
		}
		r := 1 / g.n
		f.Sxx += float32(g.kk - g.k*g.k*r)
		f.Sxd += float32(g.kd - g.k*g.d*r)
		f.Sdd += float32(g.dd - g.d*g.d*r)
		f.DoF += float32(g.n - 1)
	}
	return f
}

// bias is the mean displacement of edges to space minus that of edges to mark, and the same difference of bit positions.
func bias(space, mark *sums) (b, lean float32) {
	if mark.n == 0 {
		return float32(math.NaN()), 0
	}
	rs, rm := 1/space.n, 1/mark.n
	return float32(space.d*rs - mark.d*rm), float32(space.k*rs - mark.k*rm)
}
