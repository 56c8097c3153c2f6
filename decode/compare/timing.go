package compare

import (
	"math"

	"linewitness/decode/statistic"
)

// chance is how likely gaps between frames agree as well as those of an alignment on two occasions on which the units talk
// alike. Two tests, each of gaps of one kind (who spoke, who speaks):
//
//   - Two gaps in a row: they agree better in order than exchanged. On two occasions either is as likely. Since an
//     alignment takes gaps that agree to near, only those count that do so exchanged too.
//   - How many gaps agree at all, against the share of gaps that do so with the next of their kind, allowed for as many
//     places as were looked at.
//
// It is twice the smaller of both.
func chance(r *Recording, a, b *heard, p *path, near float64) float64 {
	var kinds [64]struct {
		ga, gb float64
		have   bool
	}
	better, worse, close, all, agreed := 0, 0, 0, 0, 0
	last := -1
	for i, j := range p.to {
		if j < 0 {
			last = -1
			continue
		}
		if last >= 0 && p.to[last]+1 == j {
			agreed++
			k := &kinds[int(r.Frames[a.of[last]].Side&7)<<3|int(r.Frames[a.of[i]].Side&7)]
			ga, gb := a.at[i]-a.at[last], b.at[j]-b.at[p.to[last]]
			if !k.have {
				k.ga, k.gb, k.have = ga, gb, true
			} else {
				k.have = false
				one, other := math.Abs(k.ga-gb), math.Abs(ga-k.gb)
				all += 2
				close += count(one <= near) + count(other <= near)
				if one <= near && other <= near {
					same := math.Abs(k.ga-k.gb) + math.Abs(ga-gb)
					better += count(same < one+other)
					worse += count(same > one+other)
				}
			}
		}
		last = i
	}
	ordered := statistic.BinomialTest(better, better+worse, 0.5, statistic.Greater)
	share := statistic.ClopperPearson(close, all, 0.998).Upper
	tries := agreed + min(p.aloneA, p.aloneB)
	number := 1.0
	if share < 1 && all > 0 {
		number = min(1, float64(len(b.at))*statistic.BinomialTest(agreed, tries, share, statistic.Greater))
	}
	return min(1, 2*min(ordered, number))
}

func count(yes bool) int {
	if yes {
		return 1
	}
	return 0
}
