package capture

// Block is a stretch of a recording. It covers [Start, End) without a hole; an empty one says that nothing happened.
// A block handed to Source.Next is refilled by the next call: copy what you keep.
type Block struct {
	Start, End Tick
	Gap        Gap   // what is missing just before Start; the zero Gap: nothing
	First      Level // the level at Start
	Transitions
	Doubt []Tick // of each transition: half width of the interval that holds the true instant; empty: exact to the tick
	Samples
	Octets []Octet
}

// Transitions are the level changes of a block, in two parallel slices. At is strictly rising and lies in
// [Start, End]; To[i] differs from the level before it.
type Transitions struct {
	At []Tick
	To []Level
}

// Samples are volts (amperes at a loop-current tap) in two parallel slices, each valid from its instant on.
type Samples struct {
	SampleAt []Tick
	Volts    []float64
}

// Octet is a byte with a time from a UART port: it enters the line at characters, so nothing about its edges is known.
type Octet struct {
	At    Tick
	Value uint16
	Side  Side
	Bad   bool // the port reported a parity or stop-bit error
}

// Gap is an interval of which nothing is known. Count is the number of transitions lost, -1: not known.
type Gap struct {
	From, To Tick
	Count    int64
	Why      GapWhy
}

// Present tells whether anything is missing at all.
func (g Gap) Present() bool { return g.Why != GapNone }

// GapWhy is why an interval is missing.
type GapWhy uint8

// The reasons.
const (
	GapNone     GapWhy = iota // nothing is missing
	GapUnknown                // the recording says unknown (x)
	GapFloating               // the recording says high impedance (z)
	GapPaused                 // the recorder was told to pause
	GapOverflow               // the recorder could not keep up
	GapDamaged                // the file is damaged there
)

// Reset empties the block for refilling and keeps its storage.
func (b *Block) Reset() {
	b.Start, b.End, b.Gap, b.First = 0, 0, Gap{}, Unknown
	b.At, b.To, b.Doubt = b.At[:0], b.To[:0], b.Doubt[:0]
	b.SampleAt, b.Volts = b.SampleAt[:0], b.Volts[:0]
	b.Octets = b.Octets[:0]
}

// Last is the level at the end of the block.
func (b *Block) Last() Level {
	if n := len(b.To); n > 0 {
		return b.To[n-1]
	}
	return b.First
}

// CopyTo makes dst an independent copy that reuses dst's storage.
func (b *Block) CopyTo(dst *Block) {
	dst.Start, dst.End, dst.Gap, dst.First = b.Start, b.End, b.Gap, b.First
	dst.At, dst.To = append(dst.At[:0], b.At...), append(dst.To[:0], b.To...)
	dst.Doubt = append(dst.Doubt[:0], b.Doubt...)
	dst.SampleAt, dst.Volts = append(dst.SampleAt[:0], b.SampleAt...), append(dst.Volts[:0], b.Volts...)
	dst.Octets = append(dst.Octets[:0], b.Octets...)
}

// Bytes is about what the block's content occupies.
func (b *Block) Bytes() int64 {
	return int64(len(b.At)*9 + len(b.Doubt)*8 + len(b.SampleAt)*16 + len(b.Octets)*16)
}
