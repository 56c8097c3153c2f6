package checksum

import (
	"fmt"
	"math/bits"
)

// Params are a CRC's parameters in the model of Ross Williams, as the catalogue prints them: Poly without its highest
// term, Poly and Init not reflected.
type Params struct {
	Width         int // bits, 8 or 16
	Poly, Init    uint16
	RefIn, RefOut bool
	XorOut        uint16
}

// CRC is a cyclic redundancy check with its tables (4 KiB). NewCRC makes it; the zero CRC computes nothing and panics.
type CRC struct {
	params Params
	name   string // the catalogue's; "" if it has none
	tables *tables
	init   uint16 // as the register holds it
	shift  uint   // what stands below the register's result
	flip   bool   // the result is to be reflected once more
}

// tables[k][b] is what octet b adds to the register after k more octets. The register is 16 bits wide for both widths:
// eight bits stand at its upper end, or reflected at its lower end, and the other half stays 0.
type tables [8][256]uint16

// NewCRC is the CRC with these parameters. An error: a width other than 8 and 16, a value wider than that, or a
// polynomial without its lowest term, which would leave a bit unguarded.
func NewCRC(p Params) (*CRC, error) {
	if p.Width != 8 && p.Width != 16 {
		return nil, fmt.Errorf("checksum: crc: expected a width of 8 or 16 bits, found %d", p.Width)
	}
	if (p.Poly|p.Init|p.XorOut)>>p.Width != 0 {
		return nil, fmt.Errorf("checksum: crc%d: expected poly, init and xorout of %d bits, found 0x%X, 0x%X and 0x%X", p.Width, p.Width, p.Poly, p.Init, p.XorOut)
	}
	if p.Poly&1 == 0 {
		return nil, fmt.Errorf("checksum: crc%d: expected an odd polynomial, found 0x%X", p.Width, p.Poly)
	}
	c := &CRC{params: p, name: nameOf(p), flip: p.RefIn != p.RefOut}
	var poly uint16
	if p.RefIn {
		c.init, poly = reflect(p.Init, p.Width), reflect(p.Poly, p.Width)
	} else {
		c.shift = uint(16 - p.Width)
		c.init, poly = p.Init<<c.shift, p.Poly<<c.shift
	}
	c.tables = newTables(poly, p.RefIn)
	return c, nil
}

// newTables builds the tables of a polynomial as the register holds it.
func newTables(poly uint16, ref bool) *tables {
	t := new(tables)
	for b := range 256 {
		var r uint16
		if ref {
			r = uint16(b)
			for range 8 {
				r = r>>1 ^ poly*(r&1)
			}
		} else {
			r = uint16(b) << 8
			for range 8 {
				r = r<<1 ^ poly*(r>>15)
			}
		}
		t[0][b] = r
	}
	for k := 1; k < len(t); k++ {
		for b, r := range t[k-1] {
			if ref {
				t[k][b] = r>>8 ^ t[0][r&0xFF]
			} else {
				t[k][b] = r<<8 ^ t[0][r>>8]
			}
		}
	}
	return t
}

// reflect turns the lowest width bits of v end for end.
func reflect(v uint16, width int) uint16 { return bits.Reverse16(v) >> (16 - width) }

// Params are the parameters c was made with.
func (c *CRC) Params() Params { return c.params }

// Size is 1 or 2 octets.
func (c *CRC) Size() int { return c.params.Width / 8 }

func (c *CRC) String() string {
	p, digits := c.params, c.params.Width/4
	s := fmt.Sprintf("crc%d poly=0x%0*X init=0x%0*X refin=%t refout=%t xorout=0x%0*X",
		p.Width, digits, p.Poly, digits, p.Init, p.RefIn, p.RefOut, digits, p.XorOut)
	if c.name != "" {
		s += " (" + c.name + ")"
	}
	return s
}

// Compute takes eight octets at a time: the register reaches into the first two of them, and every octet then adds its
// part independently of the others.
func (c *CRC) Compute(data []byte) uint16 {
	r := c.init
	if c.params.RefIn {
		r = c.tables.reflected(r, data)
	} else {
		r = c.tables.straight(r, data) >> c.shift
	}
	if c.flip {
		r = reflect(r, c.params.Width)
	}
	return r ^ c.params.XorOut
}

func (t *tables) straight(r uint16, data []byte) uint16 {
	for len(data) >= 8 {
		d := data[:8:8]
		r = t[7][byte(r>>8)^d[0]] ^ t[6][byte(r)^d[1]] ^ t[5][d[2]] ^ t[4][d[3]] ^ t[3][d[4]] ^ t[2][d[5]] ^ t[1][d[6]] ^ t[0][d[7]]
		data = data[8:]
	}
	for _, b := range data {
		r = r<<8 ^ t[0][byte(r>>8)^b]
	}
	return r
}

func (t *tables) reflected(r uint16, data []byte) uint16 {
	for len(data) >= 8 {
		d := data[:8:8]
		r = t[7][byte(r)^d[0]] ^ t[6][byte(r>>8)^d[1]] ^ t[5][d[2]] ^ t[4][d[3]] ^ t[3][d[4]] ^ t[2][d[5]] ^ t[1][d[6]] ^ t[0][d[7]]
		data = data[8:]
	}
	for _, b := range data {
		r = r>>8 ^ t[0][byte(r)^b]
	}
	return r
}
