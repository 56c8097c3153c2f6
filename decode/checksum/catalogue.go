package checksum

import "fmt"

// Entry is a CRC in common use. Check is the CRC of the nine octets "123456789". Residue is what the register holds
// after a frame with its CRC, before the final exclusive or, reflected where RefOut.
type Entry struct {
	Name string
	Params
	Check, Residue uint16
}

// Sum is the algorithm.
func (e Entry) Sum() *CRC {
	c, err := NewCRC(e.Params)
	if err != nil {
		panic("checksum: catalogue: " + e.Name + ": " + err.Error())
	}
	return c
}

// Catalogue lists the CRC of 8 and 16 bits in common use, by width and name. Source: Greg Cook, Catalogue of
// parametrised CRC algorithms.
func Catalogue() []Entry { return append([]Entry(nil), catalogue[:]...) }

// Lookup is the entry of that name, such as CRC-16/MODBUS.
func Lookup(name string) (Entry, error) {
	for _, e := range catalogue {
		if e.Name == name {
			return e, nil
		}
	}
	return Entry{}, fmt.Errorf("checksum: expected a name of the catalogue such as CRC-16/MODBUS, found %q", name)
}

// nameOf is the catalogue's name for these parameters, or "".
func nameOf(p Params) string {
	for i := range catalogue {
		if catalogue[i].Params == p {
			return catalogue[i].Name
		}
	}
	return ""
}

// Width, Poly, Init, RefIn, RefOut, XorOut; Check, Residue.
var catalogue = [...]Entry{
	{"CRC-8/AUTOSAR", Params{8, 0x2F, 0xFF, false, false, 0xFF}, 0xDF, 0x42},
	{"CRC-8/BLUETOOTH", Params{8, 0xA7, 0x00, true, true, 0x00}, 0x26, 0x00},
	{"CRC-8/CDMA2000", Params{8, 0x9B, 0xFF, false, false, 0x00}, 0xDA, 0x00},
	{"CRC-8/DARC", Params{8, 0x39, 0x00, true, true, 0x00}, 0x15, 0x00},
	{"CRC-8/DVB-S2", Params{8, 0xD5, 0x00, false, false, 0x00}, 0xBC, 0x00},
	{"CRC-8/GSM-A", Params{8, 0x1D, 0x00, false, false, 0x00}, 0x37, 0x00},
	{"CRC-8/GSM-B", Params{8, 0x49, 0x00, false, false, 0xFF}, 0x94, 0x53},
	{"CRC-8/HITAG", Params{8, 0x1D, 0xFF, false, false, 0x00}, 0xB4, 0x00},
	{"CRC-8/I-432-1", Params{8, 0x07, 0x00, false, false, 0x55}, 0xA1, 0xAC},
	{"CRC-8/I-CODE", Params{8, 0x1D, 0xFD, false, false, 0x00}, 0x7E, 0x00},
	{"CRC-8/LTE", Params{8, 0x9B, 0x00, false, false, 0x00}, 0xEA, 0x00},
	{"CRC-8/MAXIM-DOW", Params{8, 0x31, 0x00, true, true, 0x00}, 0xA1, 0x00},
	{"CRC-8/MIFARE-MAD", Params{8, 0x1D, 0xC7, false, false, 0x00}, 0x99, 0x00},
	{"CRC-8/NRSC-5", Params{8, 0x31, 0xFF, false, false, 0x00}, 0xF7, 0x00},
	{"CRC-8/OPENSAFETY", Params{8, 0x2F, 0x00, false, false, 0x00}, 0x3E, 0x00},
	{"CRC-8/ROHC", Params{8, 0x07, 0xFF, true, true, 0x00}, 0xD0, 0x00},
	{"CRC-8/SAE-J1850", Params{8, 0x1D, 0xFF, false, false, 0xFF}, 0x4B, 0xC4},
	{"CRC-8/SMBUS", Params{8, 0x07, 0x00, false, false, 0x00}, 0xF4, 0x00},
	{"CRC-8/TECH-3250", Params{8, 0x1D, 0xFF, true, true, 0x00}, 0x97, 0x00},
	{"CRC-8/WCDMA", Params{8, 0x9B, 0x00, true, true, 0x00}, 0x25, 0x00},
	{"CRC-16/ARC", Params{16, 0x8005, 0x0000, true, true, 0x0000}, 0xBB3D, 0x0000},
	{"CRC-16/CDMA2000", Params{16, 0xC867, 0xFFFF, false, false, 0x0000}, 0x4C06, 0x0000},
	{"CRC-16/CMS", Params{16, 0x8005, 0xFFFF, false, false, 0x0000}, 0xAEE7, 0x0000},
	{"CRC-16/DDS-110", Params{16, 0x8005, 0x800D, false, false, 0x0000}, 0x9ECF, 0x0000},
	{"CRC-16/DECT-R", Params{16, 0x0589, 0x0000, false, false, 0x0001}, 0x007E, 0x0589},
	{"CRC-16/DECT-X", Params{16, 0x0589, 0x0000, false, false, 0x0000}, 0x007F, 0x0000},
	{"CRC-16/DNP", Params{16, 0x3D65, 0x0000, true, true, 0xFFFF}, 0xEA82, 0x66C5},
	{"CRC-16/EN-13757", Params{16, 0x3D65, 0x0000, false, false, 0xFFFF}, 0xC2B7, 0xA366},
	{"CRC-16/GENIBUS", Params{16, 0x1021, 0xFFFF, false, false, 0xFFFF}, 0xD64E, 0x1D0F},
	{"CRC-16/GSM", Params{16, 0x1021, 0x0000, false, false, 0xFFFF}, 0xCE3C, 0x1D0F},
	{"CRC-16/IBM-3740", Params{16, 0x1021, 0xFFFF, false, false, 0x0000}, 0x29B1, 0x0000},
	{"CRC-16/IBM-SDLC", Params{16, 0x1021, 0xFFFF, true, true, 0xFFFF}, 0x906E, 0xF0B8},
	{"CRC-16/ISO-IEC-14443-3-A", Params{16, 0x1021, 0xC6C6, true, true, 0x0000}, 0xBF05, 0x0000},
	{"CRC-16/KERMIT", Params{16, 0x1021, 0x0000, true, true, 0x0000}, 0x2189, 0x0000},
	{"CRC-16/LJ1200", Params{16, 0x6F63, 0x0000, false, false, 0x0000}, 0xBDF4, 0x0000},
	{"CRC-16/M17", Params{16, 0x5935, 0xFFFF, false, false, 0x0000}, 0x772B, 0x0000},
	{"CRC-16/MAXIM-DOW", Params{16, 0x8005, 0x0000, true, true, 0xFFFF}, 0x44C2, 0xB001},
	{"CRC-16/MCRF4XX", Params{16, 0x1021, 0xFFFF, true, true, 0x0000}, 0x6F91, 0x0000},
	{"CRC-16/MODBUS", Params{16, 0x8005, 0xFFFF, true, true, 0x0000}, 0x4B37, 0x0000},
	{"CRC-16/NRSC-5", Params{16, 0x080B, 0xFFFF, true, true, 0x0000}, 0xA066, 0x0000},
	{"CRC-16/OPENSAFETY-A", Params{16, 0x5935, 0x0000, false, false, 0x0000}, 0x5D38, 0x0000},
	{"CRC-16/OPENSAFETY-B", Params{16, 0x755B, 0x0000, false, false, 0x0000}, 0x20FE, 0x0000},
	{"CRC-16/PROFIBUS", Params{16, 0x1DCF, 0xFFFF, false, false, 0xFFFF}, 0xA819, 0xE394},
	{"CRC-16/RIELLO", Params{16, 0x1021, 0xB2AA, true, true, 0x0000}, 0x63D0, 0x0000},
	{"CRC-16/SPI-FUJITSU", Params{16, 0x1021, 0x1D0F, false, false, 0x0000}, 0xE5CC, 0x0000},
	{"CRC-16/T10-DIF", Params{16, 0x8BB7, 0x0000, false, false, 0x0000}, 0xD0DB, 0x0000},
	{"CRC-16/TELEDISK", Params{16, 0xA097, 0x0000, false, false, 0x0000}, 0x0FB3, 0x0000},
	{"CRC-16/TMS37157", Params{16, 0x1021, 0x89EC, true, true, 0x0000}, 0x26B1, 0x0000},
	{"CRC-16/UMTS", Params{16, 0x8005, 0x0000, false, false, 0x0000}, 0xFEE8, 0x0000},
	{"CRC-16/USB", Params{16, 0x8005, 0xFFFF, true, true, 0xFFFF}, 0xB4C8, 0xB001},
	{"CRC-16/XMODEM", Params{16, 0x1021, 0x0000, false, false, 0x0000}, 0x31C3, 0x0000},
}
