package verdict

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// The shipped model reads, and comes back equal from what it is written to.
func TestShippedModel(t *testing.T) {
	t.Parallel()
	m, err := ReadModel(bytes.NewReader(modelFile))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := m.Write(&out); err != nil {
		t.Fatal(err)
	}
	back, err := ReadModel(&out)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(m, back); d != "" {
		t.Error(d)
	}
}

func TestBadModels(t *testing.T) {
	t.Parallel()
	good := string(modelFile)
	for _, c := range []struct{ old, new, want string }{
		{"verdict/1", "verdict/2", `model: schema: expected "linewitness/verdict/1", found "linewitness/verdict/2"`},
		{`"lines"`, `"line"`, `model: byte `},
		{`"edges": {`, `"edge": {`, `model: class "edges" is missing`},
		{`"temperature": 1`, `"temperature": 0.5`, `temperature: expected 1 or more, found 0.5`},
		{`"most": 0.95`, `"most": 1`, `most: expected a probability from 0.5 to 1, found 1`},
		{`"losses": 1`, `"losses": 2`, `evidence "losses": expected 0 to 1.5, found 2`},
		{`"losses": 1`, `"loss": 1`, `evidence "losses": expected 0 to 1.5, found 0`},
		{`"base": {}`, `"base": {"rust": 1}`, `base: `},
		{`"signs": {}`, `"signs": {"rust.red": {}}`, `unknown sign "rust.red"`},
		{`"signs": {}`, `"signs": {"dip.deep": {"rust": 1}}`, `sign "dip.deep": `},
	} {
		if !strings.Contains(good, c.old) {
			t.Fatalf("the model has no %s", c.old)
		}
		bad := strings.ReplaceAll(good, c.old, c.new)
		if _, err := ReadModel(strings.NewReader(bad)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %s", c.new, err, c.want)
		}
	}
}

// line is a pair whose b sends wrong sums.
func line(clean int64) Input {
	f := &validate.Facts{TwoTalk: true, Senders: []validate.Sender{{Side: capture.SideA, Frames: 400, Good: 400}, {Side: capture.SideB, Frames: 400, Good: 400 - clean}}}
	f.Senders[1].Clean.N = clean
	f.Answered, f.Solicited = 400, 400
	nan := math.NaN()
	return Input{Facts: f, Tap: capture.Pair, Changes: 1000, Signals: []Signal{{nan, nan, nan}, {nan, nan, nan}}}
}

// Weights add up as they are said to: base, evidence and signs over the temperature, and the signs' part goes to the evidence
// that words it.
func TestWeighing(t *testing.T) {
	t.Parallel()
	in := line(200)
	k := Key{cause.BadChecksum, capture.SideB}
	own := gather(in)
	by := own.bits(k)
	shown := Read(in)
	at, sign := -1, -1
	for i := range shown.Keys {
		if shown.Keys[i] == k {
			at = i
		}
	}
	for i, id := range Signs() {
		if id == "loss.clean-own" {
			sign = i
		}
	}
	if at < 0 || sign < 0 || shown.X[at][sign] <= 0 || shown.Class != ClassPair {
		t.Fatalf("class %v, candidate %d, sign %d", shown.Class, at, sign)
	}
	if shown.Bits[at] != by {
		t.Errorf("Read gives %v bits by itself, the evidence %v", shown.Bits[at], by)
	}
	groups := map[string]float64{}
	want := -3 + 1.5*shown.X[at][sign]
	for g, b := range by {
		groups[Group(g).String()] = 0.25 + 0.1*float64(g)
		want += (0.25 + 0.1*float64(g)) * b
	}
	want /= 2
	w := Weights{Temperature: 2, Most: 0.9999999, Evidence: groups, Base: map[string]float64{"bad-checksum": -3}, Signs: map[string]map[string]float64{"loss.clean-own": {"bad-checksum": 1.5}}}
	m := Model{Schema: ModelSchema, Classes: map[string]Weights{"levels": w, "edges": w, "pair": w}}
	own.weigh(m.compile()[ClassPair])
	got := 0.0
	for _, b := range own.bits(k) {
		got += b
	}
	if math.Abs(got-want) > 1e-9 || by[GroupLosses] <= 0 {
		t.Errorf("got %v bits, want %v of %v", got, want, by)
	}
	rest := own.evidence[len(own.evidence)-1]
	if rest.ID != "other-signs" || rest.Bits[k] != -1.5 {
		t.Errorf("what no evidence words: %s %v", rest.ID, rest.Bits[k])
	}
}

// No candidate gets more than the model says is supported, and the order stays.
func TestNoMoreThanSupported(t *testing.T) {
	t.Parallel()
	for _, clean := range []int64{0, 3, 200, 400} {
		j := gather(line(clean))
		free, _ := j.posterior(1)
		j.limit(0.8)
		held, _ := j.posterior(1)
		if most := top(held); most > 0.8+1e-9 || top(free) > 0.8 && most < 0.8-1e-6 {
			t.Errorf("%d wrong sums: %v held at 0.8 gives %v", clean, top(free), most)
		}
	}
}

// A lone sender of unknown side is the one that polls; the other may be at fault too.
func TestLoneSender(t *testing.T) {
	t.Parallel()
	in := Input{Facts: &validate.Facts{Senders: []validate.Sender{{Side: capture.SideUnknown, Frames: 60, Good: 60}}}, Tap: capture.Pair, Changes: 1000}
	sides := map[capture.Side]bool{}
	for _, c := range Judge(in).Candidates {
		if c.Cause == cause.SilentSender {
			sides[c.Side] = true
		}
	}
	if len(sides) != 2 || !sides[capture.SideA] || !sides[capture.SideB] {
		t.Errorf("silent senders at %v", sides)
	}
	if in.Facts.Senders[0].Side != capture.SideUnknown {
		t.Error("the facts were changed")
	}
}

// Every evidence that moves a probability has a group of its own, or is of the dialogue.
func TestGroupsOfEvidence(t *testing.T) {
	t.Parallel()
	dialogue := []string{"ignored-replies", "two-schedules", "controller-elsewhere", "overlaps", "foreign-replies", "double-replies", "restarts-indoor", "other-signs"}
	for _, id := range dialogue {
		if g := (&Evidence{ID: id}).group(); g != GroupDialogue {
			t.Errorf("%s is of the %s", id, g)
		}
	}
	for id, want := range map[string]Group{"losses": GroupLosses, "levels-shift": GroupLevels, "levels": GroupSilence, "held-at-space": GroupSilence,
		"levels-dropped": GroupRecord, "no-hum": GroupMains, "short-pulses": GroupNoise, "clock-outdoor": GroupEdges, "mark-noise": GroupLevels} {
		if g := (&Evidence{ID: id}).group(); g != want {
			t.Errorf("%s is of the %s, want %s", id, g, want)
		}
	}
}

// Signs are named once, and none shows where nothing was measured.
func TestSigns(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, id := range Signs() {
		if seen[id] || !strings.Contains(id, ".") {
			t.Errorf("sign %q", id)
		}
		seen[id] = true
	}
	quiet := map[string]bool{"silent.all": true, "silent.unchanging": true} // they are about what is not there
	shown := Read(Input{})
	for i, k := range shown.Keys {
		for f, x := range shown.X[i] {
			if x != 0 && !quiet[Signs()[f]] {
				t.Errorf("%v: %s shows %v of nothing", k, Signs()[f], x)
			}
		}
	}
}
