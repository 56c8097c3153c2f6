package main

import (
	"encoding/gob"
	"errors"
	"io"
	"os"

	"linewitness/decode/cause"
	"linewitness/decode/verdict"
	"linewitness/fixtures/stage"
)

// kept is a trial as it is stored: what the verdict stands on, and the truth, so that signs and weights can change without
// staging anew.
type kept struct {
	Seed  uint64
	Truth *stage.Truth
	Basis verdict.Input
}

// sample is a trial as the fit takes it.
type sample struct {
	Seed                        uint64
	World, Tap, Cause, Severity string
	Traceless, Boards           bool // nothing of the fault stands in the recording; a board may be to blame
	Shown                       verdict.Shown
	Match                       []outcome // by candidate
	Lost                        int64
}

// trial judges a stored one again.
func (k *kept) trial() *trial { return newTrial(k.Seed, k.Truth, k.Basis) }

func (t *trial) sample() sample {
	s := sample{Seed: t.seed, World: t.truth.World, Tap: t.truth.Tap, Cause: t.name(), Severity: t.severity(), Traceless: t.truth.Trace.None() && !t.sound(),
		Boards: t.family(cause.Board), Shown: t.shown, Lost: t.truth.Trace.FramesLost}
	for _, k := range t.shown.Keys {
		s.Match = append(s.Match, t.match(k))
	}
	return s
}

// keeper stores trials one by one, so that an interrupted run loses none.
type keeper struct {
	f   *os.File
	enc *gob.Encoder
}

func newKeeper(name string) (*keeper, error) {
	f, err := os.Create(name)
	if err != nil {
		return nil, err
	}
	return &keeper{f, gob.NewEncoder(f)}, nil
}

func (k *keeper) add(t *trial) error { return k.enc.Encode(kept{t.seed, t.truth, t.basis}) }

// loadKept reads stored trials; the last may be cut.
func loadKept(names []string, each func(*kept)) error {
	for _, name := range names {
		f, err := os.Open(name)
		if err != nil {
			return err
		}
		d := gob.NewDecoder(f)
		for {
			var k kept
			err := d.Decode(&k)
			if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
				break
			}
			if err != nil {
				f.Close()
				return err
			}
			each(&k)
		}
		f.Close()
	}
	return nil
}
