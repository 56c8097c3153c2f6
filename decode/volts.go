package decode

import (
	"linewitness/capture"
	"linewitness/capture/slicer"
	"linewitness/decode/learn"
	"linewitness/decode/link"
)

// volts is the part of the straight line before the levels: it slices volts and measures what the levels themselves say.
type volts struct {
	slicer *slicer.Slicer
	tap    capture.Tap // as given
	own    capture.Block
}

// kinds says what a tap shows.
var kinds = map[capture.Tap]slicer.Kind{
	capture.IndoorTerminal: slicer.Loop, capture.OutdoorTerminal: slicer.Loop, capture.LoopCurrent: slicer.Current,
	capture.BoardPin: slicer.Pin, capture.Pair: slicer.Pair,
}

func newVolts(info capture.Info, tap capture.Tap, mains float64) *volts {
	return &volts{tap: tap, slicer: slicer.New(info.Clock, slicer.Options{Kind: kinds[tap], FullScale: info.FullScale, Relative: info.Relative})}
}

// slice gives levels to a block's volts and hands what is decided to emit; a nil emit wants the facts only.
func (v *volts) slice(b *capture.Block, emit func(*capture.Block) error) error {
	return v.slicer.Add(b, v.measured(emit))
}

func (v *volts) flush(emit func(*capture.Block) error) error {
	return v.slicer.Flush(v.measured(emit))
}

func (v *volts) measured(emit func(*capture.Block) error) func(*capture.Block) error {
	return func(b *capture.Block) error {
		if emit == nil {
			return nil
		}
		return emit(b)
	}
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

// inferred is the tap that the levels look like.
func (v *volts) inferred() capture.Tap {
	switch v.slicer.Found().Kind {
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
