package link

import (
	"strings"

	"github.com/google/gopacket"
	"github.com/google/gopacket/layers"

	"linewitness/capture"
)

// linkUser4 is the link type under which frames are written as packets (USER4 of the pcapng link types, private use).
const linkUser4 = 151

// LayerTypeFrame is a frame among gopacket's layer types; 1000 to 1999 are left to applications. Packets of link type USER4
// are decoded as such: as nobody says by which profile, all of the packet is the frame's payload. Profile.Decoder says.
var LayerTypeFrame = register()

func register() gopacket.LayerType {
	t := gopacket.RegisterLayerType(1151, gopacket.LayerTypeMetadata{Name: "Frame", Decoder: gopacket.DecodeFunc((*Profile)(nil).packet)})
	layers.LinkTypeMetadata[linkUser4] = layers.EnumMetadata{DecodeWith: t, Name: "Frame", LayerType: t}
	return t
}

// Layer is a frame as a gopacket layer. Set the Profile, and the Side where the line's level tells it, before decoding: the
// data are the frame's octets with the coding taken off. Contents are what stands before the payload (break, start mark,
// length character), the payload ends before the checksum or the end mark. The octets are not copied. A Profile that was
// decoded with must not change.
type Layer struct {
	layers.BaseLayer
	Profile   *Profile // nil: any content, all of it payload
	Side      capture.Side
	Octets    []byte
	Why       Why    // rules of length and checksum that the octets break
	Sum, Want uint16 // the checksum as it stands, and as it should be; only where the frame is long enough
	Shape     int    // index into the profile's Shapes; -1: none fits
	rules     rules
}

// Broken is the error of a frame that breaks rules.
type Broken Why

func (b Broken) Error() string {
	return "frame breaks the rules of " + strings.Join(Why(b).Names(), ", ")
}

// LayerType is LayerTypeFrame.
func (l *Layer) LayerType() gopacket.LayerType { return LayerTypeFrame }

// CanDecode is LayerTypeFrame.
func (l *Layer) CanDecode() gopacket.LayerClass { return LayerTypeFrame }

// NextLayerType is gopacket's payload: what it means stands in the profile's shapes.
func (l *Layer) NextLayerType() gopacket.LayerType { return gopacket.LayerTypePayload }

// DecodeFromBytes checks the octets of one frame. The error is a Broken; all fields are set then too.
func (l *Layer) DecodeFromBytes(octets []byte, df gopacket.DecodeFeedback) error {
	l.Octets, l.Why, l.Sum, l.Want, l.Shape = octets, 0, 0, 0, -1
	if l.Profile == nil {
		l.Contents, l.Payload = nil, octets
		return nil
	}
	if l.rules.of != l.Profile {
		l.rules = rulesOf(l.Profile)
	}
	l.split()
	short := l.check()
	l.Shape = l.Profile.ShapeOf(octets, l.Side)
	if short && df != nil {
		df.SetTruncated()
	}
	if l.Why != 0 {
		return Broken(l.Why)
	}
	return nil
}

// split finds the payload.
func (l *Layer) split() {
	from := l.rules.head
	if length := l.Profile.Framing.Length; length != nil && length.At == from {
		from++
	}
	from = min(from, len(l.Octets))
	to := max(from, len(l.Octets)-l.rules.behind)
	l.Contents, l.Payload = l.Octets[:from], l.Octets[from:to]
}

// check finds the broken rules; short: octets are missing.
func (l *Layer) check() (short bool) {
	p, f, n := l.Profile, &l.Profile.Framing, len(l.Octets)
	if n < l.rules.least || !l.marked() {
		l.Why |= WhyLength
		short = n < l.rules.least
	}
	if want := l.rules.fixed; want > 0 && n != want {
		l.Why |= WhyLength
		short = short || n < want
	}
	if f.Length != nil {
		if want, ok := p.told(l.Octets); !ok || n != want {
			l.Why |= WhyLength
			short = short || !ok || n < want
		}
	}
	if p.Checksum == nil {
		return short
	}
	ok, want, got, unfit := p.Checksum.Verify(l.Octets)
	l.Sum, l.Want = got, want
	switch {
	case unfit:
		l.Why |= WhyLength
		return true
	case !ok:
		l.Why |= WhyChecksum
		if f.Modbus && !modbusLength(l.Octets) {
			l.Why |= WhyLength
		}
	}
	return short
}

// marked compares the marks' octets.
func (l *Layer) marked() bool {
	f, b := &l.Profile.Framing, l.Octets
	if len(b) < l.rules.head+l.rules.tail {
		return false
	}
	return sameOctets(b[l.rules.head-len(f.Start):], f.Start) && sameOctets(b[len(b)-l.rules.tail:], f.End)
}

func sameOctets(b []byte, mark []uint16) bool {
	for i, c := range mark {
		if b[i] != byte(c) {
			return false
		}
	}
	return true
}

// Decoder is for gopacket.NewPacket: a packet holds the characters of one frame as they stood on the line, an octet each, or
// two, high one first, where characters have nine bits.
func (p *Profile) Decoder() gopacket.Decoder { return gopacket.DecodeFunc(p.packet) }

// packet decodes one packet; without a profile all of it is payload.
func (p *Profile) packet(data []byte, b gopacket.PacketBuilder) error {
	l := &Layer{Profile: p}
	octets, whole := data, true
	if p != nil {
		octets, whole = p.octetsOf(data)
	}
	err := l.DecodeFromBytes(octets, b)
	if !whole {
		l.Why |= WhyLength
		err = Broken(l.Why)
	}
	b.AddLayer(l)
	if err != nil {
		return err
	}
	return b.NextDecoder(l.NextLayerType())
}

// octetsOf takes a packet's characters apart; whole is false where its coding is broken.
func (p *Profile) octetsOf(data []byte) (octets []byte, whole bool) {
	values := make([]uint16, 0, len(data))
	if p.Line.Format.DataBits > 8 {
		if len(data)%2 != 0 {
			return data, false
		}
		for i := 0; i < len(data); i += 2 {
			values = append(values, uint16(data[i])<<8|uint16(data[i+1]))
		}
	} else {
		for _, c := range data {
			values = append(values, uint16(c))
		}
	}
	return p.Framing.take(nil, values)
}
