package tally

import (
	"iter"

	"linewitness/capture"
)

// Parts are a block, or where it has more than MostSamples the parts of it that have no more. They share its storage.
func Parts(b *capture.Block) iter.Seq[*capture.Block] {
	return func(yield func(*capture.Block) bool) {
		rest := *b
		if len(rest.SampleAt) > MostSamples {
			rest.Doubt = nil
		}
		for len(rest.SampleAt) > MostSamples {
			part := rest
			part.End = rest.SampleAt[MostSamples]
			n := ahead(rest.At, part.End)
			part.At, part.To = rest.At[:n], rest.To[:n]
			part.SampleAt, part.Volts = rest.SampleAt[:MostSamples], rest.Volts[:MostSamples]
			part.Doubt, part.Octets = nil, nil // no figure shows them
			if !yield(&part) {
				return
			}
			rest.Start, rest.First, rest.Gap = part.End, part.Last(), capture.Gap{}
			rest.At, rest.To = rest.At[n:], rest.To[n:]
			rest.SampleAt, rest.Volts = rest.SampleAt[MostSamples:], rest.Volts[MostSamples:]
		}
		yield(&rest)
	}
}
