package link

import (
	"linewitness/capture"
	"linewitness/decode/checksum"
	"linewitness/decode/uart"
)

// Modbus RTU: address, function code, data, CRC-16/MODBUS with its low octet first. A silence of 3.5 characters of 11
// bits ends a frame, one of more than 1.5 breaks it; above 19,200 Bd 1.750 ms and 750 us (Modbus over Serial Line
// V1.02, clause 2.5.1.1).
const (
	modbusLeast = 4
	modbusMost  = 256
)

// ModbusRTU is the built-in link at a speed and format. Silences are counted in characters as they are; 10-bit formats
// are not the standard's, but common.
func ModbusRTU(l uart.Line) *Profile {
	char := l.Format.Length() / l.Speed
	gap, inside := 3.5*char, 1.5*char
	if l.Speed > 19200 {
		gap, inside = 1.750e-3, 750e-6
	}
	sum, _ := checksum.Parse("crc16 poly=0x8005 init=0xFFFF refin=true refout=true xorout=0x0000")
	return &Profile{
		Name: "Modbus RTU", Kind: TwoWire, Line: l,
		Framing:    Framing{Gap: gap, Inside: inside, Modbus: true},
		Checksum:   &checksum.Spec{Sum: sum, From: 0, To: -2, At: -2, Order: checksum.Little},
		Timing:     Timing{TurnaroundMax: 1, TwoTalkers: true},
		Controller: capture.SideA, Responder: capture.SideB,
	}
}

// modbusRequest is the length of a request with this beginning, 0 where it can't be a request (Modbus application
// protocol V1.1b3, clause 6).
func modbusRequest(b []byte) int {
	if len(b) < 2 {
		return 0
	}
	switch b[1] {
	case 1, 2, 3, 4, 5, 6:
		return 8
	case 7, 11, 12, 17:
		return 4
	case 8:
		return 8
	case 15, 16:
		if len(b) > 6 {
			return 9 + int(b[6])
		}
	case 22:
		return 10
	case 23:
		if len(b) > 10 {
			return 13 + int(b[10])
		}
	}
	return 0
}

// modbusReply is the length of a reply with this beginning, 0 where it can't be a reply.
func modbusReply(b []byte) int {
	if len(b) < 3 {
		return 0
	}
	switch f := b[1]; {
	case f >= 0x80:
		return 5
	case f >= 1 && f <= 4, f == 12, f == 17, f == 23:
		return 5 + int(b[2])
	case f == 5, f == 6, f == 8, f == 11, f == 15, f == 16:
		return 8
	case f == 7:
		return 5
	case f == 22:
		return 10
	}
	return 0
}

// modbusLength tells whether a frame has the length of a request or a reply. A function code that the standard leaves
// to its users has no known length.
func modbusLength(b []byte) bool {
	q, r := modbusRequest(b), modbusReply(b)
	return q == 0 && r == 0 || len(b) == q || len(b) == r
}

// Asks tells from a frame's content alone whether it can be a poll, and Answers whether it can be the reply to poll.
// Both are true where the link's frames don't say.
func (p *Profile) Asks(f *Frame) bool {
	if !p.Framing.Modbus {
		return true
	}
	var b [12]byte
	n := copyOctets(b[:], f.Values)
	return modbusRequest(b[:n]) == len(f.Values)
}

// AsksWithin tells whether a frame can be a poll that also keeps the protocol's limits: at most 2,000 bits or 125
// registers, a coil on or off (clauses 6.1 to 6.5). It parts a reply with the shape of a poll from a poll.
func (p *Profile) AsksWithin(f *Frame) bool {
	if !p.Asks(f) {
		return false
	}
	if !p.Framing.Modbus || len(f.Values) < 6 {
		return true
	}
	n := f.Values[4]<<8 | f.Values[5]&0xFF
	switch f.Values[1] {
	case 1, 2:
		return n >= 1 && n <= 2000
	case 3, 4:
		return n >= 1 && n <= 125
	case 5:
		return n == 0 || n == 0xFF00
	}
	return true
}

// Answers tells whether f can be the reply to a poll that began with head.
func (p *Profile) Answers(head [2]uint16, f *Frame) bool {
	if !p.Framing.Modbus {
		return true
	}
	if len(f.Values) < 2 || f.Values[0] != head[0] || f.Values[1]&0x7F != head[1] {
		return false
	}
	var b [12]byte
	n := copyOctets(b[:], f.Values)
	return modbusReply(b[:n]) == len(f.Values)
}

func copyOctets(dst []byte, values []uint16) int {
	n := min(len(dst), len(values))
	for i := range n {
		dst[i] = byte(values[i])
	}
	return n
}
