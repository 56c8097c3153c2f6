package main

import (
	"math"
	"slices"

	"linewitness/capture"
	"linewitness/decode/compare"
	"linewitness/decode/validate"
	"linewitness/decode/verdict"
)

// mostOfSample is how many values of a recording a rank test takes: more would only find what is too small to matter.
const mostOfSample = 500

// What two recorders of one line may differ by, as standard errors: distortion of their inputs, per cent of the unit interval; the
// gain of their inputs; how noisy they are (common practice, no source).
const (
	recorderDistortion = 0.05
	recorderGain       = 0.001
	recorderNoise      = 0.02
)

// turnSteps is how many steps of a millisecond turn-arounds are told apart by: finer ones are the recorders' clocks'.
const turnSteps = 100

// recorderPPM is the standard error that a recorder's own clock adds to a speed: crystals are within 50 to 100 ppm (common
// practice, no source).
const recorderPPM = 50

// questions are all figures of two recordings that can be compared.
func questions(before, after *reading) (all []compare.Question) {
	ask := func(id string, side capture.Side, unit string, kind compare.Kind, of func(*reading) compare.Datum) {
		all = append(all, compare.Question{ID: id, Side: side, Unit: unit, Kind: kind, Before: of(before), After: of(after)})
	}
	for _, side := range sidesOf(before, after) {
		at := int(side & 7)
		ask("damaged", side, "%", compare.Proportion, func(r *reading) compare.Datum { return r.counts.of[at].damaged.datum() })
		if before.counts.polls[at].n+after.counts.polls[at].n > 0 {
			ask("unanswered", side, "%", compare.Proportion, func(r *reading) compare.Datum { return r.counts.polls[at].datum() })
		}
		if len(before.counts.of[at].turns.v)+len(after.counts.of[at].turns.v) > 0 {
			ask("turn-around", side, "ms", compare.Sample, func(r *reading) compare.Datum {
				values := slices.Clone(compare.SampleOf(r.counts.of[at].turns.v, mostOfSample))
				for i, v := range values {
					values[i] = math.Round(v*turnSteps) / turnSteps
				}
				return compare.Datum{Values: values}
			})
		}
		for _, x := range [...]struct {
			id, unit, fact string
			recorder       float64
		}{{"speed-error", "ppm", "time.clock", recorderPPM}, {"bias", "%", "time.bias", recorderDistortion}, {"isochronous", "%", "time.isochronous", recorderDistortion}} {
			ask(x.id, side, x.unit, compare.Estimate, func(r *reading) compare.Datum {
				d := factOf(r, x.fact, side)
				d.Err = math.Hypot(d.Err, x.recorder)
				return d
			})
		}
	}
	for _, p := range [...]struct{ id, fact string }{{"short-spaces", "errors.short-spaces"}, {"short-marks", "errors.short-marks"}} {
		ask(p.id, capture.SideUnknown, "/h", compare.Rate, func(r *reading) compare.Datum { return eventsOf(r, p.fact) })
	}
	if before.finding.Volts != nil || after.finding.Volts != nil {
		all = append(all, levelQuestions(before, after)...)
	}
	return all
}

// sidesOf are the sides that either recording has frames of.
func sidesOf(before, after *reading) (sides []capture.Side) {
	for _, r := range []*reading{before, after} {
		for _, s := range r.finding.Senders {
			if r.counts.of[s.Side&7].damaged.n > 0 && !slices.Contains(sides, s.Side) {
				sides = append(sides, s.Side)
			}
		}
	}
	return sides
}

// findFact is a recording's fact of that id and side; nil: it has none.
func findFact(r *reading, id string, side capture.Side) *validate.Fact {
	for i := range r.finding.Facts {
		if x := &r.finding.Facts[i]; x.ID == id && x.Side == side {
			return x
		}
	}
	return nil
}

// factOf takes a fact with its interval as a value with its standard error.
func factOf(r *reading, id string, side capture.Side) compare.Datum {
	x := findFact(r, id, side)
	switch {
	case x == nil:
		return compare.Datum{Value: math.NaN(), Unmeasured: "nothing of this sender was seen"}
	case !x.Measured():
		return compare.Datum{Value: math.NaN(), Unmeasured: x.Unmeasured}
	}
	return compare.Datum{Value: x.Value, Err: (x.High - x.Low) / (2 * 1.96), N: int(x.N)}
}

// eventsOf takes a fact of how often something happened.
func eventsOf(r *reading, id string) compare.Datum {
	x := findFact(r, id, capture.Line)
	if x == nil || !x.Measured() {
		return compare.Datum{Unmeasured: "no talk could be read"}
	}
	return compare.Datum{K: int(x.Times.N), Seconds: r.seconds()}
}

// seconds is the time that a recording really covers.
func (r *reading) seconds() float64 {
	f := &r.finding.Recording
	return f.Clock.Seconds(f.To - f.From - f.Lost)
}

// levelQuestions are those about volts. A level counts as moved where it did so by more than it does from second to second.
func levelQuestions(before, after *reading) (all []compare.Question) {
	unit := "V"
	for _, r := range []*reading{before, after} {
		if v := r.finding.Volts; v != nil && v.Relative {
			unit = "of full scale"
		} else if v != nil && v.Amperes {
			unit = "A"
		}
	}
	ask := func(id, unit string, kind compare.Kind, of func(v *verdict.Volts) compare.Datum) {
		one := func(r *reading) compare.Datum {
			v := r.finding.Volts
			switch {
			case v == nil:
				return compare.Datum{Unmeasured: "no volts were recorded"}
			case v.Dropped != "":
				return compare.Datum{Unmeasured: v.Dropped}
			}
			return of(v)
		}
		all = append(all, compare.Question{ID: id, Unit: unit, Kind: kind, Before: one(before), After: one(after)})
	}
	for l := capture.Low; l <= capture.High; l++ {
		ask("level-"+l.String(), unit, compare.Estimate, func(v *verdict.Volts) compare.Datum {
			return steady(1, [4]float64{math.NaN(), v.Low, v.Mid, v.High}[l], v.Moves[l], recorderGain)
		})
	}
	ask("mark-to-high", "%", compare.Estimate, func(v *verdict.Volts) compare.Datum { return steady(100, v.Ratio, v.RatioMoves, recorderGain) })
	for l := capture.Low; l <= capture.High; l++ {
		ask("noise-"+l.String(), unit, compare.Estimate, func(v *verdict.Volts) compare.Datum { return steady(1, v.NoiseOf[l], v.NoiseErr[l], recorderNoise) })
	}
	ask("dips", "/h", compare.Rate, func(v *verdict.Volts) compare.Datum {
		return compare.Datum{K: int(v.Dips.N), Seconds: v.Seconds * v.Judged}
	})
	ask("spikes", "/h", compare.Rate, func(v *verdict.Volts) compare.Datum {
		return compare.Datum{K: int(v.Spikes.N), Seconds: v.Seconds}
	})
	return all
}

// steady is a value, how far it moves by itself, and which part of it a recorder may err by.
func steady(scale, v, moves, part float64) compare.Datum {
	d := compare.Datum{Value: scale * v, Err: scale * math.Hypot(moves, part*v)}
	if math.IsNaN(v) {
		d.Unmeasured = "not seen"
	} else if !(moves >= 0) {
		d.Unmeasured = "seen for too short a time to know how steady it is"
	}
	return d
}
