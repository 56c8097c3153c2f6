package validate

import "linewitness/decode/link"

// Asked is what became of the good polls to one address.
type Asked struct {
	Address            int
	Good, Bad, Missing int64 // replies
}

// mostAsked is how many addresses are kept apart; further ones are left out.
const mostAsked = 32

// ask keeps the address of the poll that stands.
func (f *Fold) ask(r *link.Frame) {
	f.pollTo = -1
	if r.OK() {
		f.pollTo = addressIn(f.p, r.Octets)
	}
}

// outcome counts what became of the poll that stood, by its address.
func (f *Fold) outcome() *Asked {
	for i := range f.Asked {
		if f.Asked[i].Address == f.pollTo {
			return &f.Asked[i]
		}
	}
	if f.pollTo < 0 || len(f.Asked) == mostAsked {
		return &f.nobody
	}
	f.Asked = append(f.Asked, Asked{Address: f.pollTo})
	return &f.Asked[len(f.Asked)-1]
}
