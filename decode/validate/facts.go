package validate

// FactList lists what was measured so far, group by group in a fixed order; facts that this recording cannot tell stand in it too.
// (Fold's field Facts has the sums that the verdict weighs.)
func (f *Fold) FactList() []Fact {
	all := f.timeFacts(make([]Fact, 0, 32))
	all = f.errors.facts(all, f.Senders, f.Dialogue.Seconds)
	for i := range f.Senders {
		all = append(all, f.flips[i].fact("errors.marks-to-space", f.Senders[i].Side))
	}
	all = f.bounce.facts(all)
	for i := range f.Senders {
		all = f.mains[i].facts(all, f.Senders[i].Side)
	}
	return f.rivalFacts(f.structureFacts(f.dialogueFacts(all)))
}
