package main

import (
	"fmt"
	"io"
	"math"
	"slices"

	"golang.org/x/sync/errgroup"

	"linewitness/decode/cause"
	"linewitness/decode/verdict"
)

// judged is what a fitted model says of a sample.
type judged struct {
	s     *sample
	p     []float64
	lead  int
	outof outcome
}

// judge gives a sample its candidates' probabilities under the routine prior.
func (m *weights) judge(s *sample) judged {
	r := m.rows([]*sample{s}, func(*sample) float64 { return 1 })
	j := judged{s: s}
	if len(r) == 0 {
		c := *s
		c.Match = slices.Clone(s.Match)
		c.Match[0], c.Traceless = right, true
		r = m.rows([]*sample{&c}, func(*sample) float64 { return 1 })
	}
	prior := verdict.Priors(s.Shown.Keys)
	p := scored(&r[0], m.w, nil)
	for k := range p {
		p[k] += math.Log(prior[k]/prior[0]) - r[0].offset[k]
	}
	all := logSum(p, nil)
	for k := range p {
		p[k] = math.Exp(p[k] - all)
		if p[k] > p[j.lead] {
			j.lead = k
		}
	}
	j.p = p
	j.outof = s.Match[j.lead]
	if p[j.lead] < 0.6 || s.Shown.Keys[j.lead].Cause == cause.OtherCause {
		j.outof = open
	}
	return j
}

// crossFit fits on all worlds but one and judges that one, for every world.
func (o *options) crossFit(all []sample) (out []judged) {
	var worlds []string
	for i := range all {
		if !slices.Contains(worlds, all[i].World) {
			worlds = append(worlds, all[i].World)
		}
	}
	slices.Sort(worlds)
	signs := len(verdict.Signs())
	type job struct{ train, test []*sample }
	var jobs []job
	for class := range verdict.Classes {
		for _, left := range worlds {
			var j job
			for i := range all {
				s := &all[i]
				switch {
				case int(s.Shown.Class) != class:
				case s.World == left:
					j.test = append(j.test, s)
				default:
					j.train = append(j.train, s)
				}
			}
			if len(j.test) > 0 {
				jobs = append(jobs, j)
			}
		}
	}
	outs := make([][]judged, len(jobs))
	var crew errgroup.Group
	crew.SetLimit(o.workers)
	for i := range jobs {
		crew.Go(func() error {
			j := &jobs[i]
			m := newWeights(signs, !o.alone)
			m.fit(m.rows(j.train, byCause(j.train)), o.ridge, o.steps)
			for _, s := range j.test {
				outs[i] = append(outs[i], m.judge(s))
			}
			return nil
		})
	}
	_ = crew.Wait() // none of them fails
	for _, x := range outs {
		out = append(out, x...)
	}
	return out
}

// byCause weighs samples so that all causes count alike, and sound ones more.
func byCause(all []*sample) func(*sample) float64 {
	n := map[string]float64{}
	for _, s := range all {
		n[labelOf(s)]++
	}
	return func(s *sample) float64 {
		l := labelOf(s)
		w := float64(len(all)) / n[l]
		if l == "none" {
			w *= soundShare
		}
		return math.Min(w, 30*float64(len(all))/float64(len(n)))
	}
}

// labelOf is what a sample teaches: a fault without a trace is a sound line.
func labelOf(s *sample) string {
	if s.Traceless {
		return "none"
	}
	return s.Cause
}

// table prints how the judged ones came out.
func table(w io.Writer, all []judged) {
	type row struct {
		n    int
		of   [4]int
		bits float64
	}
	groups := []func(*sample) string{func(s *sample) string { return s.Cause }, func(s *sample) string { return s.World + " " + s.Shown.Class.String() }, func(s *sample) string { return s.Severity }, func(*sample) string { return "all" }}
	for _, g := range groups {
		rows := map[string]*row{}
		var keys []string
		for _, j := range all {
			k := g(j.s)
			if rows[k] == nil {
				rows[k] = &row{}
				keys = append(keys, k)
			}
			r := rows[k]
			r.n++
			r.of[j.outof]++
			ok := 0.0
			for i, m := range j.s.Match {
				if m >= allowed {
					ok += j.p[i]
				}
			}
			r.bits += math.Min(20, -math.Log2(math.Max(ok, 1e-9)))
		}
		slices.Sort(keys)
		for _, k := range keys {
			r := rows[k]
			fmt.Fprintf(w, "%-28s %5d right %4d allowed %4d open %4d wrong %4d  bits %.2f\n", k, r.n, r.of[right], r.of[allowed], r.of[open], r.of[wrong], r.bits/float64(r.n))
		}
		fmt.Fprintln(w)
	}
	for _, sev := range []string{"gross", "medium", "slight"} {
		n, fam, cau, un := 0, 0, 0, 0
		for _, j := range all {
			if j.s.Severity != sev {
				continue
			}
			n++
			f, c := j.accepts()
			if j.outof == open {
				un++
				continue
			}
			fam += f
			cau += c
		}
		share(w, sev+": family accepted", fam, n)
		share(w, sev+": cause accepted", cau, n)
		share(w, sev+": open", un, n)
	}
	blamed, claimed, sound, sure9, ok9, n := 0, 0, 0, 0, 0, 0
	for _, j := range all {
		n++
		k := j.s.Shown.Keys[j.lead]
		if j.s.Cause == "none" {
			sound++
			if j.outof != open && k.Cause != cause.None {
				claimed++
			}
		}
		if j.outof != open && k.Cause.Family() == cause.Board && !j.s.Boards {
			blamed++
		}
		if j.outof != open && j.p[j.lead] >= sure {
			sure9++
			if j.outof >= allowed {
				ok9++
			}
		}
	}
	share(w, "a board blamed that can't be to blame", blamed, n)
	share(w, "a fault claimed on a sound line", claimed, sound)
	share(w, "an answer at 90 % and more", sure9, n)
	share(w, "of those, right or allowed", ok9, sure9)
}

// accepts tells whether the leading candidate's family, and its cause, is among those that can't be excluded: 1 or 0.
func (j *judged) accepts() (family, c int) {
	lead := j.s.Shown.Keys[j.lead]
	for i, k := range j.s.Shown.Keys {
		if j.s.Match[i] < allowed {
			continue
		}
		if k.Cause.Family() == lead.Cause.Family() {
			family = 1
		}
		if k.Cause == lead.Cause {
			c = 1
		}
	}
	return family, c
}
