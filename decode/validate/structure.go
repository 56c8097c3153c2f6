package validate

// structureFacts lists what another reading of the line would explain better: frames that are whole only with mark and space
// exchanged, with the exact interval (C. J. Clopper and E. S. Pearson, 1934). Only a link whose profile lets a pair's conductors
// be exchanged is read both ways.
func (f *Fold) structureFacts(dst []Fact) []Fact {
	for i := range f.Senders {
		s := &f.Senders[i]
		x := newFact("structure.other-polarity", s.Side, "")
		if f.p.Either {
			x = shareFact(x.ID, s.Side, s.Swapped, s.Frames, "no frame of this sender was seen")
		} else {
			x.Unmeasured = "this line is read in one polarity only"
		}
		dst = append(dst, x)
	}
	return dst
}
