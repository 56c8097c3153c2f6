package verdict

import (
	"fmt"
	"math"
	"strconv"

	"linewitness/capture"
	"linewitness/decode/cause"
)

// What a sign in the levels is worth, in bits against sound. Read off the circuit, not fitted: a cause that acts on the
// line shows its own sign in nine recordings of ten or more, a sound line shows a weak form of it in one of thirty.
const (
	shows   = 4.9  // log2(0.9/0.03): the sign is there
	lacks   = -4.3 // log2(0.05/0.97): a recording in which the cause acts would show it, and it is not there
	strong  = 8.2  // log2(0.9/0.003): a sign that hardly any sound line shows
	stands  = 12.0 // what a talking line never shows
	hints   = 2.0
	denies  = -1.5
	refutes = -20.0
)

// levels weighs what the levels say by themselves.
func (j *judge) levels() {
	v := j.in.Volts
	if v == nil {
		return
	}
	if v.OnlyMains {
		j.mainsAlone(v)
		return
	}
	if v.Dropped != "" {
		j.say("levels-dropped", v.Dropped, math.NaN(), "", nil, nil)
		return
	}
	j.heights(v)
	j.held(v)
	if v.HalfWave {
		j.say("half-wave-supply", "the supply lives in every other half cycle of the mains: its dips, its hum and mark's height are not judged", math.NaN(), "", nil, nil)
		j.edges(v)
		return
	}
	if v.loose() {
		j.say("open-states-run-off", "the volts of an open line run off away from mark, as what couples in from L carries them: nothing follows from that alone",
			math.NaN(), "", nil, nil)
	}
	j.supply(v)
	j.shifts(v)
	j.swing(v)
	j.dips(v)
	j.hum(v)
	j.joint(v)
	j.edges(v)
	j.spikes(v)
	j.beyond(v)
}

// say appends an evidence that moves the candidates as bits says.
func (j *judge) say(id, says string, value float64, unit string, at []capture.Tick, bits func(Key) float64) {
	e := Evidence{ID: id, Says: says, Value: value, Low: math.NaN(), High: math.NaN(), Unit: unit, At: at}
	if bits != nil {
		e.Bits = map[Key]float64{}
		for _, k := range j.keys[1:] {
			if b := bits(k); b < 0 || b > 0 { // NaN is no evidence
				e.Bits[k] = math.Max(-20, math.Min(20, b))
			}
		}
	}
	j.evidence = append(j.evidence, e)
}

// only gives bits to some causes.
func only(bits float64, causes ...cause.Cause) func(Key) float64 {
	return func(k Key) float64 {
		for _, c := range causes {
			if k.Cause == c {
				return bits
			}
		}
		return 0
	}
}

// sampling: what the recorder itself adds or leaves out.
func (j *judge) sampling(v *Volts) {
	if v == nil {
		return
	}
	if v.DistortionHidden {
		j.say("samples-a-bit", fmt.Sprintf("%.1f samples a bit: under 8 no distortion can be told", v.SamplesABit), v.SamplesABit, "samples",
			nil, only(hints, cause.ProbeArtefact))
	}
	if v.Clipped > 0 {
		clip := hints
		if v.loose() {
			clip = 0 // it is the open line that runs off the scale
		}
		j.say("clipped", fmt.Sprintf("%d samples stand at full scale: what lies beyond was not recorded", v.Clipped), float64(v.Clipped), "samples",
			nil, only(clip, cause.ProbeArtefact))
	}
	if v.ZeroMove != 0 {
		j.say("zero-moves", fmt.Sprintf("low moved by %+.2g V: the recorder's zero drifts, how mark stands to the supply is not judged", v.ZeroMove), v.ZeroMove, "V",
			nil, only(hints, cause.ProbeArtefact, cause.Leakage))
	}
	if v.Coupled {
		j.say("ac-coupled", "every level decays to one value: the input is AC-coupled", math.NaN(), "", nil, only(hints, cause.ProbeArtefact))
	}
}

// pickup is the largest mains voltage that a conductor which nobody drives picks up beside L through a probe of some
// megohms; more is driven. Tens of volts is common practice, no source.
const pickup = 60

// mainsAlone: nothing but mains stands on S.
func (j *judge) mainsAlone(v *Volts) {
	if v.fullWaves() { // no supply is built so; one in half waves is
		j.say("full-waves", v.mainsSay(), v.Peak, "V", nil, func(k Key) float64 {
			if k.Cause == cause.LoopSupply {
				return j.fed(k, v, strong)
			}
			return 0
		})
		return
	}
	if v.halfWaves() {
		j.say("half-waves", v.mainsSay(), v.Peak, "V", nil, // or what an open line picks up, where diodes hold one side of it
			only(hints, cause.OpenConductor, cause.StuckSender, cause.NoPower, cause.LoopSupply))
		return
	}
	causes := []cause.Cause{cause.ReversedConductors, cause.ShortedConductors, cause.OpenConductor}
	if v.Peak < pickup && !v.Relative {
		causes = []cause.Cause{cause.OpenConductor, cause.NoPower}
	}
	b := strong
	if v.Relative {
		b = shows
	}
	j.say("only-mains", v.mainsSay(), v.Peak, "V", nil, only(b, causes...))
}

// mainsSay words it.
func (v *Volts) mainsSay() string {
	says := fmt.Sprintf("nothing but mains stands on the signal line, up to %s V", short(v.Peak))
	if !math.IsNaN(v.Effective) {
		says += fmt.Sprintf(" (%s V effective)", short(v.Effective))
	}
	if v.Dips.N > 0 {
		says += fmt.Sprintf(", with %d dips to %.0f %%", v.Dips.N, 100*v.DipTo)
	}
	switch {
	case v.fullWaves():
		return fmt.Sprintf("both half waves of the mains stand rectified on the line, up to %s V: a loop supply that has lost its smoothing; what is sent on it cannot be read", short(v.Peak))
	case v.halfWaves():
		return fmt.Sprintf("half waves of up to %s V stand on the line: a loop supply without smoothing at rest, or mains through a diode; nobody is read as talking", short(v.Peak))
	case v.Relative:
		return "nothing but mains stands on the signal line; say the full scale to have its size"
	case v.Peak < pickup:
		return says + ": pickup on a conductor that nobody drives"
	}
	return says + ": L stands on S, the conductors are in the wrong order, or N is open; every terminal may be live"
}

// heights: where the levels stand. Mark clear of both ends means that current flows through both units.
func (j *judge) heights(v *Volts) {
	if !v.Loop || v.Levels < 2 || math.IsNaN(v.Mid) {
		return
	}
	unit := "V"
	if v.Relative {
		unit = "of full scale"
	}
	says := fmt.Sprintf("mark stands at %s %s", v.figure(v.Mid), unit)
	if !math.IsNaN(v.High) {
		says += fmt.Sprintf(", high at %s", v.figure(v.High))
	}
	if !math.IsNaN(v.Low) {
		says += fmt.Sprintf(", low at %s", v.figure(v.Low))
	}
	p := v.Place()
	closed := !math.IsNaN(p) && p > 0.04 && p < 0.96
	switch {
	case closed:
		says += fmt.Sprintf(": mark at %.0f %% of the way, so current flows through both units", 100*p)
	case math.IsNaN(v.High):
		says += "; no level above mark was seen: the unit that does not feed the loop is silent, or its spaces merge with mark"
	case math.IsNaN(v.Low):
		says += "; no level below mark was seen: the feeding unit is silent, or its spaces merge with mark"
	}
	j.say("levels", says, 100*p, "%", nil, func(k Key) float64 {
		if !closed || v.Held.N > 0 || v.swings() || j.in.Facts != nil && j.stopped() {
			return 0 // what was closed need not have stayed so
		}
		switch k.Cause {
		case cause.OpenConductor, cause.ShortedConductors, cause.ReversedConductors, cause.NoPower, cause.Addressing: // a loop joins two units only
			return refutes
		case cause.StuckSender:
			return denies
		}
		return 0
	})
}

// held: a line that stands away from mark for long is open, shorted, unfed or held by a unit; idle it is not, though a unit that
// sleeps may let go of it.
func (j *judge) held(v *Volts) {
	if v.Held.N == 0 {
		return
	}
	says := fmt.Sprintf("the line stood away from mark %s, in all %.1f s low and %.1f s high: no talk does that", times(v.Held.N), v.HeldLow, v.HeldHigh)
	low, high := v.HeldLow > 0, v.HeldHigh > 0
	j.say("held", says, v.HeldLow+v.HeldHigh, "s", v.Held.At, func(k Key) float64 {
		b := behind(v.holds(k, low, high), j.passing(k.Cause, v.Held.N, v.HeldEnds))
		if v.HalfWave {
			b /= 4 // much of it may be the dark half cycles
		}
		return b
	})
}

// holds is what a line that was held low, high or both says of a candidate: the feeding unit that lets go leaves it low, the other
// one high.
func (v *Volts) holds(k Key, low, high bool) float64 {
	feeds := v.Feed == capture.SideUnknown || k.Side == v.Feed
	switch k.Cause {
	case cause.OpenConductor, cause.IntermittentContact, cause.PoorJoint:
		return stands
	case cause.StuckSender, cause.NoPower:
		if v.Feed == capture.SideUnknown || low && feeds || high && !feeds {
			return stands
		}
		return v.unless(stands)
	case cause.ShortedConductors:
		if low {
			return stands
		}
	case cause.LoopSupply:
		if low && feeds {
			return stands
		} else if low {
			return v.unless(stands)
		}
	}
	return 0
}

// A loop is fed with 24 V or more, 140 V at most (the design of such links; common practice, no source); what is far from that was not
// fed, or not recorded, as it should be. The mains alone may move by a tenth and more within a recording (EN 50160).
const (
	leastSupply = 12
	mostSupply  = 170
	mainsMove   = 0.15
)

// supply: its size, and how it moves with mark.
func (j *judge) supply(v *Volts) {
	if !v.Loop || math.IsNaN(v.High) {
		return
	}
	if size := math.Abs(v.High); !v.Relative && (size < leastSupply || size > mostSupply) {
		says := fmt.Sprintf("the supply stands at %s V: no loop is fed so; it is weak, or the full scale given is wrong", v.figure(v.High))
		j.say("supply-size", says, v.High, "V", nil, func(k Key) float64 {
			switch {
			case k.Cause == cause.ProbeArtefact:
				return strong
			case k.Cause == cause.LoopSupply && size < leastSupply:
				return j.fed(k, v, strong)
			}
			return 0
		})
	}
	if move := math.Abs(v.HighMove); move > mainsMove && math.Abs(v.PlaceMove) < move/4 {
		b := math.Min(12, shows+strong/2.5*math.Log2(move/mainsMove))
		j.say("supply-moves", fmt.Sprintf("the loop's supply moved by %+.0f %% during the recording, and mark with it", 100*v.HighMove), 100*v.HighMove, "%", nil,
			func(k Key) float64 {
				switch k.Cause {
				case cause.LoopSupply:
					return j.fed(k, v, b)
				case cause.VoltageSag:
					return b - recovers
				}
				return 0
			})
	}
}

// dips of the loop's supply, and whether what was lost fell into them.
func (j *judge) dips(v *Volts) {
	if !(v.Judged >= 0.5) || !v.Loop && v.span() < mostSignals { // a driven pair has no supply of its own
		return
	}
	if v.Dips.N == 0 && j.supplyMoves {
		return
	}
	if v.Dips.N == 0 {
		j.say("no-dips", fmt.Sprintf("the loop's supply held for the %.0f %% of the time in which it could be judged", 100*v.Judged), 0, "dips",
			nil, only(lacks, cause.VoltageSag))
		return
	}
	if v.DipTo < -0.05 { // no supply turns round
		j.say("dips", "what may be dips of the loop's supply; the levels are not told apart well enough", float64(v.Dips.N), "dips", v.Dips.At, nil)
		return
	}
	if v.humShare() > 0.25 {
		j.say("dips", "what may be dips of the loop's supply; the hum is too strong to tell", float64(v.Dips.N), "dips", v.Dips.At, nil)
		return
	}
	says := fmt.Sprintf("the loop's supply dipped %s, down to %.0f %%", times(v.Dips.N), 100*v.DipTo)
	share, in, of := v.coincide(j.lostAt(), j.in.Second)
	b := shows
	if v.DipTo < 0.5 && v.Dips.N > 1 {
		b = strong // no receiver is sure of a mark at half its current
	}
	if of > 0 {
		p := math.Min(math.Max(share, 0.01), 0.9)
		n := float64(of)
		b += math.Max(-6, math.Min(12, float64(in)*math.Log2(0.8/p)+(n-float64(in))*math.Log2(0.2/(1-p))))
		says += fmt.Sprintf("; %d of the first %d disturbances fell into dips", in, of)
	}
	j.say("dips", says, float64(v.Dips.N), "dips", v.Dips.At, func(k Key) float64 {
		switch k.Cause {
		case cause.VoltageSag:
			return b
		case cause.LoopSupply:
			return j.fed(k, v, b-recovers)
		case cause.Restarts:
			return hints // a unit goes down with its supply
		}
		return 0
	})
}

// mostSignals is more than the drivers of a pair give between its conductors: 5 V either way (TIA-485-A); a bus that is fed stands higher.
const mostSignals = 11

// recovers: a supply that comes back within a second was more likely let down by the mains than by its own parts. This
// tap does not see the mains themselves.
const recovers = 3.0

// fed is b for the unit that feeds the loop; less for the other, as far as nothing says which one feeds.
func (j *judge) fed(k Key, v *Volts, b float64) float64 {
	if v.Feed == capture.SideUnknown || k.Side == v.Feed {
		return b
	}
	return v.unless(b)
}

// unless is what b is worth for a unit of which only an assumption about who feeds the loop says that it is not the one.
func (v *Volts) unless(b float64) float64 {
	if v.FeedAssumed {
		return math.Min(b, math.Max(b-4, 0))
	}
	return 0
}

// hum: what follows the mains, and in which state.
func (j *judge) hum(v *Volts) {
	if !(v.nearest() > 0) || v.swings() { // then no state has it for itself
		return
	}
	share := v.humShare()
	apart := 1.0 // of its weight
	if lost, of := j.seen.total(); v.loose() && lost > 0.2*of {
		if all := v.share(&v.Hum, [4]bool{}); all > 0.2 && share < 0.2 {
			share, apart = all, 0.5 // strong hum drives mark into the other states; or it is the open line's own
		}
	}
	most := share * v.nearest()
	rippleShare := v.share(&v.Ripple, v.Loose)
	ripple := rippleShare * v.nearest()
	if math.IsNaN(v.Hz) || share < 0.05 && rippleShare < 0.05 {
		says := "nothing follows the mains"
		if !math.IsNaN(v.Hz) {
			says = fmt.Sprintf("%.2f Hz stands on the levels with %s V peak at most, too little to matter", v.Hz, short(math.Max(most, ripple)))
		}
		j.say("no-hum", says, 100*share, "% of a step", nil,
			func(k Key) float64 {
				if k.Cause == cause.MainsHum {
					return lacks
				}
				return 0
			})
		return
	}
	says := fmt.Sprintf("%.2f Hz stands on the levels: %s V peak in mark, %s in high, %s in low", v.Hz, short(v.Hum[capture.Mid]), short(v.Hum[capture.High]), short(v.Hum[capture.Low]))
	if rippleShare >= 0.05 {
		says += fmt.Sprintf("; its harmonics make %s V", short(ripple))
	}
	says += humPlace(v)
	b := (math.Min(share, 0.45) - 0.2) / 0.2 * shows // a fifth of a step leaves a receiver its margin
	r := (math.Min(rippleShare, 0.45) - 0.2) / 0.2 * shows
	if lost, of := j.seen.total(); lost == 0 && of > fewFrames && !v.Loop {
		b, r = math.Min(b, 1), math.Min(r, 1)
		says += "; nothing was lost to it, so it may be what both conductors have in common"
	}
	j.say("hum", says, 100*share, "% of a step", nil, func(k Key) float64 {
		switch k.Cause {
		case cause.MainsHum:
			return math.Max(lacks, apart*b)
		case cause.LoopSupply:
			return j.fed(k, v, math.Max(0, math.Max(r, b/2)))
		case cause.Leakage:
			return math.Max(0, b/2)
		}
		return 0
	})
}

// fewFrames are too few to tell that nothing is lost.
const fewFrames = 20

// humPlace says what the states in which hum stands point at.
func humPlace(v *Volts) string {
	h, l := v.Hum[capture.High], v.Hum[capture.Low]
	switch {
	case math.IsNaN(h) || math.IsNaN(l):
		return ""
	case h > 4*l:
		return "; none while the feeding unit is open: in series with the far conductor N, or the supply's own"
	case l > 4*h:
		return "; none while the other unit is open: in series with N, seen at the end that feeds"
	}
	return "; in both open states: coupled or leaking from L"
}

// joint: mark moves or is noisy while the outer levels stand.
func (j *judge) joint(v *Volts) {
	if !math.IsNaN(v.MarkNoise) && v.MarkErr > 0 {
		if v.MarkNoise-3*v.MarkErr > 1.3 {
			j.say("mark-noise", fmt.Sprintf("mark is %.1f times as noisy as the quieter outer level: noise while current flows", v.MarkNoise),
				v.MarkNoise, "times", nil, only(shows-hints, cause.PoorJoint))
		} else {
			j.say("mark-noise", fmt.Sprintf("mark is not noisier than the outer levels (%.2f times)", v.MarkNoise), v.MarkNoise, "times", nil, only(denies, cause.PoorJoint))
		}
	}
	if v.MarkFell > 0 {
		j.say("mark-fell", fmt.Sprintf("mark fell %s while the supply held", times(v.MarkFell)), float64(v.MarkFell), "times", nil,
			only(shows-hints, cause.PoorJoint, cause.IntermittentContact))
	}
	if math.IsNaN(v.PlaceMove) {
		return
	}
	size := math.Abs(v.PlaceMove)
	switch {
	case size > 0.04 && size > 4*v.PlaceErr:
		j.placeMoves(v, size)
	case size < 0.015 && v.PlaceErr < 0.005:
		j.say("place-holds", "the ratio of mark to supply held still", 100*size, "%", nil, only(denies, cause.PoorJoint, cause.Leakage))
	}
}

// placeMoves: a joint moves mark and leaves the supply as it stands; a leak draws the supply down as well and lets mark rise
// against it.
func (j *judge) placeMoves(v *Volts, size float64) {
	b := math.Min(12, shows+strong/2.5*math.Log2(size/0.04))
	leak := v.PlaceMove > 0 && v.HighMove < -size/4
	says := fmt.Sprintf("mark against supply moved by %+.1f %% during the recording", 100*v.PlaceMove)
	if !math.IsNaN(v.HighMove) {
		says += fmt.Sprintf(", the supply itself by %+.1f %%", 100*v.HighMove)
	}
	j.say("place-moves", says, 100*v.PlaceMove, "%", nil, func(k Key) float64 {
		switch {
		case k.Cause == cause.Leakage && leak, k.Cause == cause.PoorJoint && !leak:
			return b
		case k.Cause == cause.Leakage || k.Cause == cause.PoorJoint:
			return b - recovers
		}
		return 0
	})
}

// edges: curved ones speak of capacitance, sharp ones clear it.
func (j *judge) edges(v *Volts) {
	b := shows
	if v.TauBits > 0.3 {
		b = strong // the middle of an edge comes 0.69 time constants late: little of a receiver's half bit is left
	}
	switch {
	case math.IsNaN(v.TauBits):
	case v.Curved && v.TauBits > 0.08:
		j.say("edges-curved", fmt.Sprintf("edges are exponential with up to %.2f of a bit: a capacitance charges through the units' resistors", v.TauBits),
			v.TauBits, "bit", nil, func(k Key) float64 {
				switch k.Cause {
				case cause.ExcessCapacitance:
					return b
				case cause.DriverDistortion: // which leaves edges sharp
					return lacks
				}
				return 0
			})
	case v.TauBits < 0.05:
		j.say("edges-sharp", fmt.Sprintf("edges are sharp: %.3f of a bit at most", v.TauBits), v.TauBits, "bit", nil, only(lacks, cause.ExcessCapacitance))
	default:
		j.say("edges", fmt.Sprintf("edges take up to %.2f of a bit", v.TauBits), v.TauBits, "bit", nil, nil)
	}
}

// spikes shorter than a bit, whether or not they cross a threshold.
func (j *judge) spikes(v *Volts) {
	n := v.Spikes.N
	if n == 0 {
		j.say("no-spikes", fmt.Sprintf("no spike in %.0f s", v.Seconds), 0, "spikes", nil, func(k Key) float64 {
			switch k.Cause {
			case cause.ImpulseNoise, cause.Crosstalk:
				return lacks
			}
			return 0 // a contact's gaps may last
		})
		return
	}
	if v.humShare() > 0.25 {
		j.say("spikes", fmt.Sprintf("%s of what may be spikes; the hum is too strong to tell", episodes(n)), float64(n), "episodes", v.Spikes.At, nil)
		return
	}
	if in := v.inDips(v.Spikes.At); in*2 > len(v.Spikes.At) {
		j.say("spikes", fmt.Sprintf("%s of what may be spikes, most of them while the supply was down", episodes(n)), float64(n), "episodes", v.Spikes.At, nil)
		return
	}
	says := fmt.Sprintf("%s of spikes, %d upward and %d downward", episodes(n), v.Plus, v.Minus)
	if v.AtOpen+v.OffOpen > 0 {
		says += fmt.Sprintf("; of the first, %d stop where an open conductor leaves the line, %d do not", v.AtOpen, v.OffOpen)
	}
	b := math.Min(8, math.Log2(1+float64(n)))
	lost, _ := j.seen.total()
	few := 5*float64(n) < lost
	if few {
		says += "; too few to have lost what was lost"
	}
	j.say("spikes", says, float64(n), "episodes", v.Spikes.At, func(k Key) float64 { return j.spikeBits(k, v, b, few) })
}

// spikeBits is what spikes say of a candidate: a contact that opens takes the line to where an open conductor leaves it, from whatever
// level; noise takes it anywhere.
func (j *judge) spikeBits(k Key, v *Volts, b float64, few bool) float64 {
	both := v.Plus > 0 && v.Minus > 0 && min(v.Plus, v.Minus)*6 >= max(v.Plus, v.Minus)
	open := math.Max(-6, math.Min(6, 1.5*float64(v.AtOpen)-2*float64(v.OffOpen))) // 0.85 to 0.3 of them, 0.15 to 0.7
	switch k.Cause {
	case cause.ImpulseNoise, cause.Crosstalk:
		switch {
		case few:
			return lacks
		case k.Cause == cause.Crosstalk && v.Plus+v.Minus <= 20:
			return b / 2
		case !both:
			return b/2 - math.Max(0, open)/2 // noise makes both signs
		}
		return b - math.Max(0, open)/2
	case cause.IntermittentContact:
		switch {
		case few:
			return 0
		case !both || v.AtOpen+v.OffOpen > 0:
			return b/2 + open
		}
		return denies
	case cause.OtherCause:
		return b / 4
	}
	return 0
}

// beyond: what stands outside of the supply comes from elsewhere.
func (j *judge) beyond(v *Volts) {
	if v.Beyond.N < 3 || v.BeyondMost < 0.5*v.span() || v.loose() {
		return
	}
	j.say("beyond", fmt.Sprintf("%d times the volts went beyond the supply, by up to %s V", v.Beyond.N, short(v.BeyondMost)), float64(v.Beyond.N), "times", v.Beyond.At,
		only(hints, cause.ImpulseNoise, cause.ReversedConductors, cause.ShortedConductors, cause.OpenConductor, cause.MainsHum))
}

// lostAt are the first instants of all that was lost, ascending.
func (j *judge) lostAt() []capture.Tick {
	for i := range j.evidence {
		if j.evidence[i].ID == "losses" {
			return j.evidence[i].At
		}
	}
	return nil
}

func times(n int64) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

func episodes(n int64) string {
	if n == 1 {
		return "1 episode"
	}
	return fmt.Sprintf("%d episodes", n)
}

// figure is a level with as many places as the levels' distance asks for.
func (v *Volts) figure(x float64) string {
	places := min(max(2-int(math.Floor(math.Log10(math.Max(v.span(), 1e-9)))), 0), 9)
	shift := math.Pow10(places)
	return strconv.FormatFloat(math.Round(x*shift)/shift+0, 'f', places, 64) // + 0: no -0.0
}

// short is a figure to three digits.
func short(v float64) string {
	if math.IsNaN(v) {
		return "(not seen)"
	}
	return fmt.Sprintf("%.3g", v)
}

// swapped: frames of a pair that are whole only with mark and space exchanged.
func (j *judge) swapped() {
	for i := range j.in.Facts.Senders {
		s := &j.in.Facts.Senders[i]
		if s.Swapped.N == 0 {
			continue
		}
		b := math.Min(20, 6*float64(s.Swapped.N))
		j.say("swapped-"+s.Side.String(), fmt.Sprintf("%d frames of %s are whole only with A and B exchanged", s.Swapped.N, SideName(s.Side)),
			float64(s.Swapped.N), "frames", s.Swapped.At, only(b, cause.ReversedConductors))
	}
}
