package compare

import (
	"math"
	"slices"

	"linewitness/decode/statistic"
)

// gap is the distance from one frame to the next in both recordings, s.
type gap struct{ a, b float64 }

// kind is between which frames a gap lies: who spoke, who speaks, and how many characters.
type kind struct {
	from, to             uint8
	fromLength, toLength uint16
}

// chance is how likely gaps between frames agree as well as those of an alignment do on two occasions on which the units say
// the same. A schedule makes gaps agree on any occasion: only gaps of like size are set against each other, so that what
// counts is how the units waver about it. Two tests, of gaps between frames of one kind:
//
//   - Two gaps that differ by less than near: they agree better in their order than exchanged. On two occasions either is as
//     likely; those that would not have been aligned if exchanged are left out.
//   - Where wavering is so wide that few gaps are alike: that as many agree as do, against the share of gaps that have their like
//     within the same recording, allowed for as many places as were looked at.
//
// It is twice the smaller of both. A schedule whose own differences are under half a unit interval, with the same contents in
// both recordings, is beyond it.
func chance(first *Recording, a, b *heard, p *path, near float64) float64 {
	better, worse, alike, agreed := 0, 0, 0, 0
	least := 2 * statistic.NormalMAD * statistic.Median(p.offs(a, b))
	for _, all := range gapsOf(first, a, b, p) {
		slices.SortFunc(all, func(x, y gap) int {
			switch {
			case x.a < y.a:
				return -1
			case x.a > y.a:
				return 1
			}
			return 0
		})
		agreed += len(all)
		for i := range all {
			if i > 0 && all[i].a-all[i-1].a <= near || i+1 < len(all) && all[i+1].a-all[i].a <= near {
				alike++
			}
		}
		x, y := exchanged(all, near, least)
		better, worse = better+x, worse+y
	}
	ordered := statistic.BinomialTest(better, better+worse, 0.5, statistic.Greater)
	number, tries := 1.0, agreed+min(p.aloneA, p.aloneB)
	if share := statistic.ClopperPearson(alike, agreed, 0.998).Upper; share < 1 {
		number = min(1, float64(len(b.at))*statistic.BinomialTest(agreed, tries, share, statistic.Greater))
	}
	return min(1, 2*min(ordered, number))
}

// gapsOf are the gaps between frames that follow each other in both recordings, by kind.
func gapsOf(r *Recording, a, b *heard, p *path) map[kind][]gap {
	all := map[kind][]gap{}
	last := -1
	for i, j := range p.to {
		if j >= 0 && last >= 0 && p.to[last]+1 == j {
			f, g := &r.Frames[a.of[last]], &r.Frames[a.of[i]]
			k := kind{uint8(f.Side), uint8(g.Side), f.Length, g.Length}
			all[k] = append(all[k], gap{a.at[i] - a.at[last], b.at[j] - b.at[p.to[last]]})
		}
		if last = i; j < 0 {
			last = -1
		}
	}
	return all
}

// exchanged pairs gaps, in order of size, that differ by less than near but as much as that allows, and counts the pairs that
// agree better and worse with the other recording as they stand than exchanged. Pairs that differ by less than least are
// alike but for the recorders' own errors, and tell nothing.
func exchanged(all []gap, near, least float64) (better, worse int) {
	for from := 0; from < len(all); {
		to := from + 1
		for to < len(all) && all[to].a-all[from].a <= near {
			to++
		}
		if to-from == 3 {
			to-- // the odd one may have its like among the next
		}
		half := (to - from) / 2
		for i := from; i < from+half; i++ {
			x, y := all[i], all[i+half]
			one, other := math.Abs(x.a-y.b), math.Abs(y.a-x.b)
			if one > near || other > near || y.a-x.a < least {
				continue
			}
			same := math.Abs(x.a-x.b) + math.Abs(y.a-y.b)
			better += count(same < one+other)
			worse += count(same > one+other)
		}
		from = to
	}
	return better, worse
}

func count(yes bool) int {
	if yes {
		return 1
	}
	return 0
}
