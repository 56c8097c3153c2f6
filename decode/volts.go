package decode

import (
	"math"
	"slices"

	"linewitness/capture"
	"linewitness/capture/slicer"
	"linewitness/decode/learn"
	"linewitness/decode/link"
	"linewitness/decode/tally"
	"linewitness/decode/validate"
)

// volts is the part of the straight line before the levels: it slices volts and measures what the levels themselves say.
type volts struct {
	clock  capture.Clock
	info   capture.Info
	slicer *slicer.Slicer

	pieces *validate.Cutting
	levels *validate.Levels
	edges  *validate.Edges
	mains  *validate.Mains
	supply *validate.Supply
	spikes *validate.Spikes
	loads  *validate.Loads
	ac     *alternating
	swing  *validate.Swing
	phases *phaseLog
	held   holding
	paced  bool         // spikes know how short a bit is
	end    capture.Tick // of what was measured
	shown  int          // dips that figures have
	sum, n float64      // of the samples while no levels are told apart
	peak   float64      // largest magnitude while there is nothing but mains, V
}

// kinds says what a tap shows.
var kinds = map[capture.Tap]slicer.Kind{
	capture.IndoorTerminal: slicer.Loop, capture.OutdoorTerminal: slicer.Loop, capture.LoopCurrent: slicer.Current,
	capture.BoardPin: slicer.Pin, capture.Pair: slicer.Pair,
}

func newVolts(info capture.Info, tap capture.Tap, mains float64) *volts {
	c := info.Clock
	v := &volts{clock: c, info: info,
		slicer: slicer.New(c, slicer.Options{Kind: kinds[tap], FullScale: info.FullScale, Relative: info.Relative}),
		pieces: validate.NewCutting(c), levels: validate.NewLevels(c), edges: validate.NewEdges(c),
		mains: validate.NewMains(c, mains), supply: validate.NewSupply(c, validate.DipLimits{}), spikes: validate.NewSpikes(c), loads: validate.NewLoads(c),
		ac: newAlternating(c, mains), swing: validate.NewSwing(c)}
	v.phases = newPhaseLog(c, v.mains)
	return v
}

// slice gives levels to a block's volts and hands what is decided to emit; a nil emit wants the facts only.
func (v *volts) slice(b *capture.Block, emit func(*capture.Block) error) error {
	return v.slicer.Add(b, v.measured(emit))
}

func (v *volts) flush(emit func(*capture.Block) error) error {
	if err := v.slicer.Flush(v.measured(emit)); err != nil {
		return err
	}
	v.mains.Flush()
	v.supply.Flush()
	v.phases.upTo(v.end, true)
	return nil
}

// measured measures a sliced block before it goes on.
func (v *volts) measured(emit func(*capture.Block) error) func(*capture.Block) error {
	return func(b *capture.Block) error {
		switch f := v.slicer.Found(); {
		case f.Mains:
			v.mainsAlone(b)
		case f.Levels <= 1:
			for _, x := range b.Volts {
				v.sum += x
			}
			v.n += float64(len(b.Volts))
		}
		v.swing.Add(b, v.swings())
		v.edges.Add(b)
		v.held.add(b, v.clock)
		if !v.paced && len(b.At) >= fewestPulses {
			v.paced = true
			v.spikes.Unit(shortPulse(b.At))
		}
		v.spikes.Add(b)
		v.phases.begin(b.Start)
		for part := range tally.Parts(b) { // the phase is remembered for some seconds only
			v.pieces.Add(part, v.piece)
			v.phases.upTo(part.End, false)
		}
		v.end = b.End
		if emit == nil {
			return nil
		}
		return emit(b)
	}
}

// swings is the amplitude from which on a swing of the line counts: a tenth of the distance of its levels.
func (v *volts) swings() float64 {
	const part = 0.1
	f := v.slicer.Found()
	if f.Levels < 2 {
		return part // V; nothing is known yet
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, x := range [...]float64{f.Low, f.Mid, f.High} {
		if x == x {
			low, high = min(low, x), max(high, x)
		}
	}
	return part * (high - low)
}

// fewestPulses is how many transitions of one block show how short a bit is, before the link is known.
const fewestPulses = 12

// shortPulse is the interval that one in six of those between transitions falls short of: about a bit of talk, and longer
// than most spikes.
func shortPulse(at []capture.Tick) capture.Tick {
	w := make([]capture.Tick, 0, len(at))
	for i := 1; i < len(at); i++ {
		w = append(w, at[i]-at[i-1])
	}
	slices.Sort(w)
	return w[len(w)/6]
}

// mainsAlone measures mains that stand on the line with nothing else: one state, all of it settled.
func (v *volts) mainsAlone(b *capture.Block) {
	for _, x := range b.Volts {
		v.peak = math.Max(v.peak, math.Abs(x))
		v.sum += x
	}
	v.n += float64(len(b.Volts))
	v.mains.Add(validate.Piece{Level: capture.Mid, At: b.SampleAt, Volts: b.Volts})
	v.ac.urms.Add(b.SampleAt, b.Volts)
}

func (v *volts) piece(p validate.Piece) {
	v.levels.Add(p)
	v.mains.Add(p)
	v.supply.Add(p)
	v.loads.Add(p)
}

// known is what the levels say of the link before it is learned.
func (v *volts) known() (k learn.Known) {
	f := v.slicer.Found()
	switch f.Kind {
	case slicer.Loop:
		return learn.Known{Kind: link.Loop3, Upright: true, Levels: 3}
	case slicer.Current:
		return learn.Known{Kind: link.Loop3, Upright: true, Levels: 2}
	case slicer.Pair:
		return learn.Known{Kind: link.TwoWire, Upright: true, Levels: f.Levels}
	case slicer.Pin:
		return learn.Known{Kind: link.Logic, Levels: 2}
	}
	return learn.Known{Levels: f.Levels}
}

// mostOfPins is more than a pin of a board (5 V) or a pair (6 V driven, TIA-485-A) ever shows, V.
const mostOfPins = 7

// constant is the mean while no levels are told apart, NaN where they always were.
func (v *volts) constant() float64 { return v.sum / v.n }

// inferred is the tap that the levels look like.
func (v *volts) inferred() capture.Tap {
	f := v.slicer.Found()
	if f.Kind == slicer.KindUnknown && !v.info.Relative && (f.Mains || math.Abs(v.constant()) > mostOfPins) {
		return capture.IndoorTerminal // no pin and no pair of conductors stands so high
	}
	switch f.Kind {
	case slicer.Loop:
		return capture.IndoorTerminal
	case slicer.Current:
		return capture.LoopCurrent
	case slicer.Pair:
		return capture.Pair
	case slicer.Pin:
		return capture.BoardPin
	}
	return capture.TapUnknown
}
