package verdict

import (
	"math"
	"strings"
)

// weigh replaces what each piece of evidence says by itself with what it says beside all others: its own bits and those of
// its signs, as fitted. What no evidence words goes into one of its own.
func (j *judge) weigh(w *compiled) {
	for i := range j.evidence {
		e := &j.evidence[i]
		for k, b := range e.Bits {
			e.Bits[k] = w.evidence[e.group()] * b / w.temperature
		}
	}
	j.lossWeight = w.evidence[GroupLosses] / w.temperature
	s := &sharer{j: j, rest: Evidence{ID: "other-signs", Value: math.NaN(), Low: math.NaN(), High: math.NaN(), Bits: map[Key]float64{},
		Says: "all other signs that were looked for, found or missing"}}
	list, r := signs(), newReading(&j.in)
	for _, k := range j.keys[1:] {
		s.add("", k, w.base[k.Cause]/w.temperature)
		for f := range list {
			if x := w.signs[f][k.Cause]; x != 0 {
				s.add(list[f].evidence, k, x*list[f].of(r, k)/w.temperature)
			}
		}
	}
	if len(s.rest.Bits) > 0 {
		j.evidence = append(j.evidence, s.rest)
	}
	j.readings()
	j.limit(w.most)
}

// sharer hands a sign's bits to the evidence that words it.
type sharer struct {
	j    *judge
	rest Evidence
}

func (s *sharer) add(id string, k Key, bits float64) {
	if bits == 0 {
		return
	}
	e := s.of(id, k)
	if e.Bits == nil {
		e.Bits = map[Key]float64{}
	}
	e.Bits[k] += bits
}

// of finds the evidence: of that name, or of that name and the candidate's unit, or of the other unit.
func (s *sharer) of(id string, k Key) *Evidence {
	at := -1
	for i := range s.j.evidence {
		switch e := &s.j.evidence[i]; {
		case id == "":
		case e.ID == id || e.ID == id+"-"+k.Side.String():
			return e
		case at < 0 && strings.HasPrefix(e.ID, id+"-"):
			at = i
		}
	}
	if at >= 0 {
		return &s.j.evidence[at]
	}
	return &s.rest
}

// limit weakens all evidence alike until no candidate gets more than was seen to be true.
func (j *judge) limit(most float64) {
	if p, _ := j.posterior(1); top(p) <= most {
		return
	}
	low, high := 0.0, 1.0
	for range 40 {
		mid := (low + high) / 2
		if p, _ := j.posterior(mid); top(p) > most {
			high = mid
		} else {
			low = mid
		}
	}
	for i := range j.evidence {
		for k := range j.evidence[i].Bits {
			j.evidence[i].Bits[k] *= low
		}
	}
}

func top(p []float64) float64 {
	most := 0.0
	for _, x := range p {
		most = math.Max(most, x)
	}
	return most
}
