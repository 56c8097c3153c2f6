package check

import (
	"math"
	"slices"
	"strings"
	"testing"

	"linewitness/decode/cause"
	"linewitness/decode/circuit"

	"pgregory.net/rapid"
)

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(1, math.Abs(b)) }

// By hand: prior .5 .3 .2, a positive outcome with .9 .4 .1 (Lindley 1956; worked out two ways).
func TestGainByHand(t *testing.T) {
	prior := []float64{0.5, 0.3, 0.2}
	if got := entropy(prior); !near(got, 1.4854752972273344) {
		t.Errorf("entropy of the prior %.13f bit", got)
	}
	outcomes := [][]float64{{0.9, 0.1}, {0.4, 0.6}, {0.1, 0.9}}
	if got := Gain(prior, outcomes); !near(got, 0.35691837490892675) {
		t.Errorf("gain %.13f bit, want 0.3569183749089", got)
	}
	if got := Gain([]float64{5, 3, 2}, outcomes); !near(got, 0.35691837490892675) {
		t.Errorf("of a prior that does not sum to 1: %.13f bit", got)
	}
	// A check without error that splits four equal candidates two and two is worth 1 bit.
	if got := Gain([]float64{1, 1, 1, 1}, [][]float64{{1, 0}, {1, 0}, {0, 1}, {0, 1}}); !near(got, 1) {
		t.Errorf("perfect split: %g bit, want 1", got)
	}
	for _, none := range []float64{Gain(nil, nil), Gain([]float64{0}, [][]float64{{1}}), Gain([]float64{1}, nil)} {
		if none != 0 {
			t.Errorf("of nothing: %g bit", none)
		}
	}
}

func TestTable(t *testing.T) {
	ids := map[string]bool{}
	for _, c := range All() {
		if ids[c.ID] || c.ID == "" || strings.ContainsAny(c.ID, " ") {
			t.Errorf("id %q: doubled or unfit", c.ID)
		}
		ids[c.ID] = true
		if c.Do == "" || c.Minutes <= 0 || len(c.Separates) == 0 || (c.quantity == nil) == (len(c.outcomes) < 2) {
			t.Errorf("%s: incomplete: %+v", c.ID, c)
		}
		for _, l := range c.table {
			if l.to >= len(c.outcomes) || l.to < open || len(l.causes) == 0 {
				t.Errorf("%s: row %+v of %d outcomes", c.ID, l, len(c.outcomes))
			}
			for _, k := range l.causes {
				if l.side != "" && !k.PerUnit() {
					t.Errorf("%s: %v has no side %s", c.ID, k, l.side)
				}
			}
		}
		for o := 1; o < len(c.outcomes); o++ {
			if !slices.ContainsFunc(c.table, func(l leads) bool { return l.to == o }) {
				t.Errorf("%s: nothing leads to %q", c.ID, c.outcomes[o])
			}
		}
		for word, of := range c.says {
			if !slices.Contains(strings.Split(c.Values, "|"), word) {
				t.Errorf("%s: the word %q is no value of it", c.ID, word)
			}
			for _, o := range of {
				if o < 0 || o >= len(c.outcomes) {
					t.Errorf("%s: %q stands for outcome %d of %d", c.ID, word, o, len(c.outcomes))
				}
			}
		}
		if to := c.leadsTo(cause.None, ""); to != 0 {
			t.Errorf("%s: a sound line leads to outcome %d", c.ID, to)
		}
		for _, k := range cause.All() { // other too: it must not panic
			if k == cause.OtherCause && c.quantity != nil {
				continue // no line of it can be drawn
			}
			for _, side := range []string{"indoor", "outdoor", "line", "a", "unknown"} {
				sum := 0.0
				for _, p := range c.foretells(k, side, NewCase(circuit.Nothing(), nil)) {
					sum += p
				}
				if !near(sum, 1) {
					t.Errorf("%s: %v/%s: outcomes sum to %g", c.ID, k, side, sum)
				}
			}
		}
	}
	for _, id := range []string{"demand", "fault-shown", "outdoor-live", "S-N@outdoor,lifted=S,lifted-at=outdoor"} {
		if !ids[id] {
			t.Errorf("no check %s", id)
		}
	}
}

// untouched are the checks that need no hand or probe near a terminal. All others carry a caution.
var untouched = []string{"fault-shown", "outdoor-live", "series-list", "loads-at-times"}

func TestCautions(t *testing.T) {
	for _, c := range All() {
		if slices.Contains(untouched, c.ID) {
			if c.Live || c.Caution != "" {
				t.Errorf("%s: needs no hand near a terminal, but live %v and %q", c.ID, c.Live, c.Caution)
			}
			continue
		}
		says := []string{"lock", "prove", "capacitors", "protective earth", "without warning", "codes", "licensed"}
		if c.Live {
			says = append(says, "Live work", "qualified", "CAT III, 600 V", "insulated")
		}
		for _, word := range says {
			if !strings.Contains(c.Caution, word) {
				t.Errorf("%s: the caution does not say %q: %s", c.ID, word, c.Caution)
			}
		}
	}
	for tap, word := range map[string]string{
		"indoor-terminal": "prove dead", "outdoor-terminal": "prove dead", "loop-current": "opened loop", "board-pin": "logic ground",
		"pair": "terminal block", "unknown": "logic ground", "": "logic ground",
	} {
		caution := Caution(tap)
		for _, w := range []string{word, "reinforced isolation", "lock off", "without warning", "protective earth"} {
			if !strings.Contains(caution, w) {
				t.Errorf("tap %q: the caution does not say %q", tap, w)
			}
		}
	}
}

func ids(ranked []Ranked) []string {
	var all []string
	for _, r := range ranked {
		all = append(all, r.ID)
	}
	return all
}

func find(ranked []Ranked, id string) *Ranked {
	for i := range ranked {
		if ranked[i].ID == id {
			return &ranked[i]
		}
	}
	return nil
}

// Silence at the indoor terminals: an open S, a dead outdoor supply or no mains. Reading S lifted outdoors tells the
// conductor from the unit; no statistic of the talk does.
func TestSilence(t *testing.T) {
	ranked := For([]Candidate{
		{cause.OpenConductor, "line", 0.4}, {cause.LoopSupply, "outdoor", 0.3}, {cause.NoPower, "outdoor", 0.2}, {cause.None, "none", 0.05}, {cause.OtherCause, "line", 0.05},
	}, "indoor-terminal")
	lifted := find(ranked, "S-N@outdoor,lifted=S,lifted-at=outdoor")
	if lifted == nil || lifted.Gain < 0.4 {
		t.Fatalf("S lifted: %+v among %v", lifted, ids(ranked))
	}
	if got := strings.Join(lifted.Separates, " "); !strings.Contains(got, "no-power/outdoor") {
		t.Errorf("separates %q", got)
	}
	if r := find(ranked, "A-B@line,swapped"); r != nil {
		t.Error("a pair's check after a recording at a terminal")
	}
	if r := find(ranked, "settings"); r != nil {
		t.Errorf("settings is worth %g bit to none of these", r.Gain)
	}
}

// A pair with a unit that does not answer to its address: the settings come before another recording.
func TestAddressing(t *testing.T) {
	ranked := For([]Candidate{{cause.Addressing, "line", 0.5}, {cause.None, "none", 0.25}, {cause.DriverDistortion, "a", 0.25}}, "pair")
	settings := find(ranked, "settings")
	if settings == nil {
		t.Fatalf("no settings among %v", ids(ranked))
	}
	if settings.Gain < 0.8 || ranked[0].Live || slices.Index(ids(ranked), "settings") > slices.Index(ids(ranked), "demand") {
		t.Errorf("settings is worth %g bit; in order: %v", settings.Gain, ids(ranked))
	}
}

func TestCertaintyNeedsNoCheck(t *testing.T) {
	if got := For([]Candidate{{cause.None, "none", 1}}, ""); len(got) != 0 {
		t.Errorf("of one certain candidate: %v", ids(got))
	}
	if got := For([]Candidate{{cause.OtherCause, "line", 1}}, ""); len(got) != 0 {
		t.Errorf("of something unlike anything known: %v", ids(got))
	}
	if got := For(nil, "pair"); len(got) != 0 {
		t.Errorf("of none: %v", ids(got))
	}
}

func TestRankingHolds(t *testing.T) {
	all := cause.All()
	rapid.Check(t, func(t *rapid.T) {
		var candidates []Candidate
		prior := []float64{}
		for range rapid.IntRange(1, 12).Draw(t, "n") {
			c := Candidate{rapid.SampledFrom(all).Draw(t, "cause"), rapid.SampledFrom([]string{"indoor", "outdoor", "line", "a"}).Draw(t, "side"),
				rapid.Float64Range(0.001, 1).Draw(t, "p")}
			candidates, prior = append(candidates, c), append(prior, c.Probability)
		}
		total := 0.0
		for _, p := range prior {
			total += p
		}
		for i := range prior {
			prior[i] /= total
		}
		tap := rapid.SampledFrom([]string{"", "indoor-terminal", "pair", "board-pin"}).Draw(t, "tap")
		ranked := For(candidates, tap)
		for i, r := range ranked {
			if r.Gain < leastGain || r.Gain > entropy(prior)+1e-9 {
				t.Fatalf("%s: gain %g of %g bit", r.ID, r.Gain, entropy(prior))
			}
			if i == 0 {
				continue
			}
			if before := ranked[i-1]; before.worth() < r.worth() {
				t.Fatalf("%s before %s", before.ID, r.ID)
			}
		}
	})
}

// go test ./decode/check -run ^$ -bench For -benchmem
func BenchmarkFor(b *testing.B) {
	var candidates []Candidate
	for _, k := range cause.All() {
		for _, side := range []string{"indoor", "outdoor"} {
			candidates = append(candidates, Candidate{k, side, 1})
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		For(candidates, "indoor-terminal")
	}
}
