package main

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"regexp"
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
