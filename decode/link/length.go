package link

// told is how many octets a frame says it has by its length character; ok is false where the character isn't there.
func (p *Profile) told(octets []byte) (n int, ok bool) {
	l := p.Framing.Length
	if l.At < 0 || l.At >= len(octets) {
		return 0, false
	}
	return int(octets[l.At]) + p.uncounted(), true
}

// uncounted is how many octets a frame has beside those its length character counts.
func (p *Profile) uncounted() int {
	l := p.Framing.Length
	switch l.Counts {
	case CountsRest:
		return l.At + 1 + l.Add
	case CountsPayload:
		return l.At + 1 + l.Add + p.behindPayload()
	}
	return l.Add
}

// behindPayload is how many octets end a frame from its checksum on; without a checksum that is placed from the end, its
// end mark and what follows it.
func (p *Profile) behindPayload() int {
	if p.Checksum != nil && p.Checksum.At < 0 {
		return -p.Checksum.At
	}
	return p.Framing.tail()
}

// leastOctets is how many octets every frame has.
func (p *Profile) leastOctets() int {
	f := &p.Framing
	if f.Modbus {
		return modbusLeast
	}
	least := max(1, f.head()+f.tail())
	if f.Length != nil {
		least = max(least, f.Length.At+1+f.tail())
	}
	return least
}

// fixedOctets is how many octets every frame has where its number of characters is fixed and the coding tells; 0: any.
func (f *Framing) fixedOctets() int {
	switch {
	case f.Fixed == 0 || f.Coding == CodingEscape:
		return 0
	case f.Coding == CodingHex:
		return f.head() + (f.Fixed-f.head()-f.tail())/2 + f.tail()
	}
	return f.Fixed
}

// rules are what the checks of every frame need of a profile.
type rules struct {
	of                               *Profile
	head, tail, behind, least, fixed int // octets; behind: from the checksum, or the end mark, on
}

func rulesOf(p *Profile) rules {
	f := &p.Framing
	return rules{of: p, head: f.head(), tail: f.tail(), behind: max(p.behindPayload(), f.tail()), least: p.leastOctets(),
		fixed: f.fixedOctets()}
}
