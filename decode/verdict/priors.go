package verdict

import (
	"math"

	"linewitness/decode/cause"
	"linewitness/decode/check"
)

// Shares of the prior for a routine visit: half that the line is sound, a fiftieth that it is something unlike all
// causes, the rest in equal parts to the three families and within each to its candidates. An assumption with no source.
const (
	priorSound = 0.5
	priorOther = 0.02
)

// Routine is the history that is assumed where none is given.
const Routine = "routine"

// histories say how many times as likely as on a routine visit a cause is after what came before. Assumptions with no source: new work
// leaves wrong orders, open and loose conductors and settings; a storm leaves boards and leaking arresters; what worked for years was
// wired and set right, and ages.
var histories = map[string]map[cause.Cause]float64{
	Routine: {},
	"new-installation": {
		cause.None: 0.5, cause.ReversedConductors: 6, cause.OpenConductor: 4, cause.ShortedConductors: 4, cause.PoorJoint: 2, cause.ExcessCapacitance: 2,
		cause.Crosstalk: 2, cause.NoPower: 2, cause.SpeedMismatch: 5, cause.TwoControllers: 5, cause.WrongLink: 5, cause.Addressing: 5,
	},
	"after-storm": {
		cause.None: 0.5, cause.SilentSender: 4, cause.DeafReceiver: 4, cause.StuckSender: 4, cause.LoopSupply: 4, cause.ShortedConductors: 2, cause.Leakage: 3,
		cause.NoPower: 3, cause.ReversedConductors: 0.2, cause.SpeedMismatch: 0.2, cause.TwoControllers: 0.2, cause.WrongLink: 0.2, cause.Addressing: 0.3,
	},
	"worked-for-years": {
		cause.PoorJoint: 3, cause.IntermittentContact: 3, cause.Leakage: 3, cause.OpenConductor: 2, cause.LoopSupply: 2, cause.DriverDistortion: 2, cause.VoltageSag: 2,
		cause.ReversedConductors: 0.1, cause.SpeedMismatch: 0.1, cause.TwoControllers: 0.1, cause.WrongLink: 0.1, cause.Addressing: 0.3,
	},
}

// history is what came before, by the last reading that says so.
func (in *Input) history() string {
	h := Routine
	for i := range in.Readings {
		if in.Readings[i].Check == check.History {
			h = in.Readings[i].Value.Word
		}
	}
	return h
}

// priors are the candidates' prior probabilities after a history.
func priors(all []Key, history string) []float64 {
	count := map[cause.Family]int{}
	for _, k := range all {
		count[k.Cause.Family()]++
	}
	p, sum := make([]float64, len(all)), 0.0
	for i, k := range all {
		switch f := k.Cause.Family(); f {
		case cause.Sound:
			p[i] = priorSound
		case cause.Other:
			p[i] = priorOther
		default:
			p[i] = (1 - priorSound - priorOther) / 3 / float64(count[f])
		}
		if times, ok := histories[history][k.Cause]; ok {
			p[i] *= times
		}
		sum += p[i]
	}
	for i := range p {
		p[i] /= sum
	}
	return p
}

// Prior is what was held likely before the recording, and what the answer would be if all candidates had been alike.
type Prior struct {
	History string
	Flat    Candidate // the leading one then
	Differs bool      // the answer would be another then
}

// prior says on what the answer stands besides the evidence.
func (j *judge) prior(v *Verdict) Prior {
	even := make([]float64, len(j.keys)) // in bits against sound: none
	p := j.sum(even, 1)
	lead := 0
	for i := range p {
		if p[i] > p[lead] {
			lead = i
		}
	}
	flat := Candidate{Key: j.keys[lead], Probability: p[lead], PriorBits: even[lead]}
	undetermined := flat.Probability < sure || flat.Cause == cause.OtherCause
	return Prior{History: j.in.history(), Flat: flat, Differs: undetermined != v.Undetermined || !undetermined && flat.Key != v.Key}
}

// posterior is each candidate's probability where all evidence counts by a share of it, and the prior in bits against sound.
func (j *judge) posterior(share float64) (p, prior []float64) {
	prior = priors(j.keys, j.in.history())
	sound := prior[0]
	for i := range prior {
		prior[i] = math.Log2(prior[i] / sound)
	}
	return j.sum(prior, share), prior
}

// sum adds the evidence's bits to the prior's and makes probabilities of them.
func (j *judge) sum(prior []float64, share float64) []float64 {
	p := make([]float64, len(j.keys))
	most := math.Inf(-1)
	for i, k := range j.keys {
		p[i] = prior[i]
		for _, e := range j.evidence {
			p[i] += share * e.Bits[k]
		}
		most = math.Max(most, p[i])
	}
	total := 0.0
	for i := range p {
		p[i] = math.Exp2(p[i] - most)
		total += p[i]
	}
	for i := range p {
		p[i] /= total
	}
	return p
}
