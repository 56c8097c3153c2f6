package statistic_test

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
)

// testdata/statistics.json holds figures read or computed elsewhere; each entry says where and how.
type vector struct {
	Name     string
	Input    map[string]json.RawMessage
	Expected map[string]json.RawMessage
	RelTol   float64 `json:"rel_tol"`
	series   []float64
}

func readVectors(t *testing.T) []vector {
	t.Helper()
	b, err := os.ReadFile("testdata/statistics.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct{ Vectors []vector }
	if err := json.Unmarshal(b, &file); err != nil {
		t.Fatal(err)
	}
	var nile []float64
	for _, v := range file.Vectors {
		if v.Name == "mann_kendall_nile" {
			decode(t, v.Input["series"], &nile)
		}
	}
	for i, v := range file.Vectors {
		if raw := string(v.Input["series"]); strings.HasPrefix(raw, "\"") {
			file.Vectors[i].series = nile
		} else if raw != "" {
			decode(t, v.Input["series"], &file.Vectors[i].series)
		}
	}
	return file.Vectors
}

func decode(t *testing.T, raw json.RawMessage, into any) {
	t.Helper()
	if err := json.Unmarshal(raw, into); err != nil {
		t.Fatalf("%s: %v", raw, err)
	}
}

func (v vector) floats(t *testing.T, key string) (out []float64) {
	t.Helper()
	decode(t, v.Input[key], &out)
	return out
}

func (v vector) ints(t *testing.T, key string) (out []int) {
	t.Helper()
	decode(t, v.Input[key], &out)
	return out
}

func (v vector) number(t *testing.T, key string) (out float64) {
	t.Helper()
	decode(t, v.Input[key], &out)
	return out
}

func (v vector) count(t *testing.T, key string) int {
	t.Helper()
	return int(v.number(t, key))
}

// want compares with an expected figure to the digits that the vector gives.
func (v vector) want(t *testing.T, key string, got float64) {
	t.Helper()
	var want float64
	raw, ok := v.Expected[key]
	if !ok {
		t.Fatalf("%s expects no %s", v.Name, key)
	}
	decode(t, raw, &want)
	v.same(t, key, got, want)
}

func (v vector) same(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !close(got, want, math.Max(v.RelTol, 1e-12)) {
		t.Errorf("%s: %s is %.15g, want %.15g", v.Name, what, got, want)
	}
}

func (v vector) wants(t *testing.T, key string, got []float64) {
	t.Helper()
	var want []float64
	decode(t, v.Expected[key], &want)
	if len(got) != len(want) {
		t.Fatalf("%s: %s has %d values, want %d", v.Name, key, len(got), len(want))
	}
	for i := range got {
		v.same(t, key, got[i], want[i])
	}
}

// close allows a relative error, and 1e-12 beside 0.
func close(got, want, rel float64) bool {
	if math.IsInf(want, 0) || math.IsNaN(want) {
		return got == want || math.IsNaN(got) && math.IsNaN(want)
	}
	return math.Abs(got-want) <= rel*math.Abs(want)+1e-12*indicator(math.Abs(want) < 1e-9 && rel >= 1e-12 && want == 0)
}

func indicator(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

// TestVectors runs every vector of the file; one that no check knows fails.
func TestVectors(t *testing.T) {
	checks := make(map[string]func(*testing.T, vector))
	for _, group := range []map[string]func(*testing.T, vector){
		proportionVectors, circularVectors, rankVectors, changeVectors, jitterVectors, forecastVectors,
	} {
		for name, check := range group {
			checks[name] = check
		}
	}
	used := make(map[string]bool)
	for _, v := range readVectors(t) {
		name := v.Name
		for checks[name] == nil && strings.Contains(name, "_") {
			name = name[:strings.LastIndex(name, "_")]
		}
		check := checks[name]
		if check == nil {
			t.Errorf("no check for vector %s", v.Name)
			continue
		}
		used[name] = true
		t.Run(v.Name, func(t *testing.T) { check(t, v) })
	}
	for name := range checks {
		if !used[name] {
			t.Errorf("check %s has no vector", name)
		}
	}
}
