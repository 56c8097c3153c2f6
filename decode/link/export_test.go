package link

// Worked is how many characters were looked at.
func (f *Frames) Worked() int { return f.worked }

// Direct has frames checked without gopacket's parser, to measure what that costs.
func (k *Cutter) Direct() *Cutter {
	direct := *k
	direct.direct = true
	return &direct
}
