package link

import (
	"github.com/google/gopacket"

	"linewitness/capture"
)

// checker checks octets through gopacket's parser. It has state, so that each Frames has its own.
type checker struct {
	layer   Layer
	parser  *gopacket.DecodingLayerParser
	decoded []gopacket.LayerType
	direct  bool
}

func newChecker(p *Profile, direct bool) *checker {
	c := &checker{layer: Layer{Profile: p}, direct: direct}
	var container gopacket.DecodingLayerArray
	c.parser = gopacket.NewDecodingLayerParser(LayerTypeFrame)
	c.parser.SetDecodingLayerContainer(container.Put(&c.layer))
	c.parser.IgnoreUnsupported = true // the payload's meaning stands in the shapes, not in a layer
	c.parser.IgnorePanic = true       // saves a deferred call a frame: a panic would be ours
	return c
}

// ready has a checker for the cutter's profile.
func (f *Frames) ready(k *Cutter) {
	if f.check == nil || f.check.layer.Profile != k.p || f.check.direct != k.direct {
		f.check = newChecker(k.p, k.direct)
	}
}

// rules finds the rules of length and checksum that octets break; the rest stays in the layer.
func (c *checker) rules(octets []byte, side capture.Side) Why {
	c.layer.Side = side
	if c.direct {
		_ = c.layer.DecodeFromBytes(octets, nil)
	} else {
		_ = c.parser.DecodeLayers(octets, &c.decoded) // the error is the layer's Why
	}
	return c.layer.Why
}
