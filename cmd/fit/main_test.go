package main

import (
	"bytes"
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"linewitness/decode/verdict"
)

func fit(t *testing.T, want int, args ...string) (out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	if got := run(t.Context(), args, &o, &e); got != want {
		t.Fatalf("fit %s: exit status %d, want %d: %s", strings.Join(args, " "), got, want, &e)
	}
	return o.String(), e.String()
}

// A few lines are staged, judged and kept; judged again from what was kept the figures are the same, and a model is written
// that the verdict reads.
func TestFit(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	kept, model := filepath.Join(dir, "kept"), filepath.Join(dir, "model.json")
	first, _ := fit(t, 0, "--lines", "8", "--mixed", "--list", "--tap", "loop-current", "--save", kept)
	if n := strings.Count(first, "to what can't be excluded"); n != 8 {
		t.Errorf("%d lines listed, want 8:\n%s", n, first)
	}
	if !regexp.MustCompile(`(?m)^all +8 `).MatchString(first) || !strings.Contains(first, "of     8,") {
		t.Errorf("no sum over 8 lines:\n%s", first)
	}
	again, _ := fit(t, 0, "--load", kept, "--list", "--write", model, "--steps", "20")
	for _, want := range []string{"then checks by hand as ranked", "without one group of evidence", "A forest of random trees", "what is likeliest to do is right"} {
		if !strings.Contains(again, want) {
			t.Errorf("no %q in\n%s", want, again)
		}
	}
	if !strings.HasPrefix(again, first) || !strings.Contains(again, "Fitted on all worlds but one") {
		t.Errorf("judged again:\n%s\nat first:\n%s", again, first)
	}
	f, err := os.Open(model)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m, err := verdict.ReadModel(f)
	if err != nil || m.Lines != 8 {
		t.Errorf("the model: %v, %d lines", err, m.Lines)
	}
}

// Tempered, the shipped weights stay and the probabilities said do no worse than at 1.
func TestTemper(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	kept, model := filepath.Join(dir, "kept"), filepath.Join(dir, "model.json")
	fit(t, 0, "--lines", "6", "--mixed", "--tap", "loop-current", "--save", kept)
	out, _ := fit(t, 0, "--load", kept, "--temper", "--write", model)
	if !regexp.MustCompile(`(?m)^edges +6 lines of +\d+ worlds: temperature [1-6]\.\d\d, mean log score`).MatchString(out) {
		t.Error(out)
	}
	f, err := os.Open(model)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m, err := verdict.ReadModel(f)
	if err != nil || m.Lines != 6 || m.Classes["edges"].Evidence["losses"] != verdict.Shipped().Classes["edges"].Evidence["losses"] {
		t.Errorf("%v, %+v", err, m)
	}
	all := []tempered{{world: "a", prior: []float64{0, 0}, evidence: []float64{0, 8}, accepted: []bool{true, false}},
		{world: "a", prior: []float64{0, 0}, evidence: []float64{0, 8}, accepted: []bool{false, true}}}
	if b := best(all, ""); score(all, "", b) > score(all, "", 1) || b < 2 {
		t.Errorf("surest where half comes true: temperature %.2f", b)
	}
}

func TestWrongUse(t *testing.T) {
	t.Parallel()
	for want, args := range map[string][]string{
		"--lines: expected 1 to 1000000, found 0": {"--lines", "0"},
		"--workers: expected 1 to 256":            {"--workers", "0"},
		`expected options only, found "x"`:        {"x"},
		"--write and --temper are for --load":     {"--write", "m.json"},
		"--ridge and --steps":                     {"--ridge", "0"},
		"expected the id of a cause":              {"--cause", "rust"},
		"unknown flag":                            {"--frob"},
	} {
		if _, errs := fit(t, 2, args...); !strings.Contains(errs, want) {
			t.Errorf("%v: %s, want %s", args, errs, want)
		}
	}
	if out, _ := fit(t, 0, "--help"); !strings.HasPrefix(out, "Usage:\n") {
		t.Error(out)
	}
	if _, errs := fit(t, 1, "--load", filepath.Join(t.TempDir(), "none")); !strings.Contains(errs, "none") {
		t.Error(errs)
	}
}

func TestInterrupted(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var out, errs bytes.Buffer
	if got := run(ctx, []string{"--lines", "50"}, &out, &errs); got != 130 || !strings.Contains(errs.String(), "interrupted after 0 of 50 lines") {
		t.Errorf("exit status %d: %s", got, &errs)
	}
}

// Odds that come true as said have slope 1 and offset 0; odds twice too sure (squared) have slope a half.
func TestRecalibration(t *testing.T) {
	t.Parallel()
	var honest, sure []told
	for i := 1; i < 20; i++ {
		p := float64(i) / 20
		for n := range 1000 {
			ok := float64(n) < 1000*p
			honest = append(honest, told{p, ok})
			sure = append(sure, told{p * p / (p*p + (1-p)*(1-p)), ok})
		}
	}
	if a, b, ok := recalibration(honest); !ok || math.Abs(a) > 0.01 || math.Abs(b-1) > 0.01 {
		t.Errorf("honest odds: offset %.3f, slope %.3f, %v", a, b, ok)
	}
	if a, b, ok := recalibration(sure); !ok || math.Abs(a) > 0.01 || math.Abs(b-0.5) > 0.01 {
		t.Errorf("odds squared: offset %.3f, slope %.3f, %v", a, b, ok)
	}
	if _, _, ok := recalibration(nil); ok {
		t.Error("of nothing")
	}
}

// A forest finds what two figures say together, and values that were not measured part lines too.
func TestForest(t *testing.T) {
	t.Parallel()
	var x [][]float64
	var class []int
	r := rand.New(rand.NewPCG(1, 2))
	for range 600 {
		a, b := r.Float64(), r.Float64()
		c := 0
		switch {
		case a > 0.5 && b > 0.5:
			c = 1
		case a < 0.2:
			c, b = 2, math.NaN()
		}
		x, class = append(x, []float64{a, b, r.Float64()}), append(class, c)
	}
	f := grow(x[:400], class[:400], 3, 7)
	wrong := 0
	for i := 400; i < 600; i++ {
		g := f.guess(x[i])
		if slices.Index(g, slices.Max(g)) != class[i] {
			wrong++
		}
	}
	if wrong > 20 {
		t.Errorf("%d of 200 wrong", wrong)
	}
}

// The fit finds the weights that made the samples, keeps physics' signs, and its gradient is the slope of its loss.
func TestLogistic(t *testing.T) {
	t.Parallel()
	m := newWeights(len(verdict.Signs()), true)
	var rows []row
	for i := range 200 {
		x := float64(i%10) / 5
		right := i%10 > 4
		rows = append(rows, row{offset: []float64{0, 0}, terms: [][]term{nil, {{0, x}, {1, 1}}}, right: []bool{!right, right}, weight: 1})
	}
	m.cols = m.cols[:2]
	m.cols[0].way, m.cols[1].way = 1, 0
	m.w = m.w[:2]
	w, start, grad := []float64{0.7, -0.4}, []float64{0, 0}, make([]float64, 2)
	f := m.loss(rows, w, start, 0.01, 200, grad)
	for i := range w {
		v := append([]float64(nil), w...)
		v[i] += 1e-6
		if slope := (m.loss(rows, v, start, 0.01, 200, nil) - f) / 1e-6; math.Abs(slope-grad[i]) > 1e-5 {
			t.Errorf("weight %d: slope %v, gradient %v", i, slope, grad[i])
		}
	}
	m.w = []float64{0, 0}
	m.fit(rows, 1e-4, 500)
	edge := -m.w[1] / m.w[0] // where both are as likely: between 0.8 and 1
	if m.w[0] <= 0 || edge < 0.8 || edge > 1 {
		t.Errorf("weights %v part the samples at %v, want 0.8 to 1", m.w, edge)
	}
	m.cols[0].way = -1
	m.w = []float64{0, 0}
	m.fit(rows, 1e-4, 500)
	if m.w[0] != 0 {
		t.Errorf("a sign that may only speak against got %v", m.w[0])
	}
}
