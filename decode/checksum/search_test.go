package checksum

import (
	"math"
	"math/rand/v2"
	"testing"
)

// frames are n random frames of size octets that satisfy spec, with start mark AA and end mark 16 where mark is set.
func frames(rng *rand.Rand, n, size int, spec Spec, mark bool) [][]byte {
	all := make([][]byte, n)
	for i := range all {
		f := make([]byte, size)
		for k := range f {
			f[k] = byte(rng.Uint32())
		}
		if mark {
			f[0], f[size-1] = 0xAA, 0x16
		}
		spec.Put(f)
		all[i] = f
	}
	return all
}

func TestSearchFindsEveryAlgorithm(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, text := range sumTexts() {
		sum, err := Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		for _, order := range []Order{Big, Little}[:sum.Size()] {
			at := -sum.Size() - 1
			spec := Spec{Sum: sum, From: 1, To: at, At: at, Order: order}
			res := Search(frames(rng, 12, 14, spec, true))
			found := false
			for _, f := range res.Fits {
				if f.Spec.Sum.String() == text && f.Spec.From == 1 && f.Spec.At == at && f.Spec.Order == order {
					found = true
					if f.Chance > 1e-18 {
						t.Errorf("%s: chance %g of 12 random frames", text, f.Chance)
					}
				} else if f.Chance > 1e-15 {
					t.Errorf("%s: also %v, chance %g", text, f.Spec, f.Chance)
				}
			}
			if !found {
				t.Errorf("%s %v: not among %v", text, order, res.Fits)
			}
		}
	}
}

func TestSearchFindsStartValue(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, text := range []string{"sum8 init=0x55", "sum8-twos-complement init=0x10", "xor8 init=0xA5"} {
		sum, err := Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		res := Search(frames(rng, 8, 10, Spec{Sum: sum, To: -1, At: -1}, false))
		if len(res.Fits) != 1 || res.Fits[0].Spec.Sum.String() != text || res.Fits[0].Spec.From != 0 {
			t.Errorf("%s: got %v", text, res.Fits)
		}
	}
}

// Random frames: whatever fits by accident must carry a chance that no one accepts.
func TestSearchOfNoise(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	accidents := 0
	for n := 1; n <= 5; n++ {
		for range 200 {
			all := make([][]byte, n)
			for i := range all {
				all[i] = make([]byte, 8)
				for k := range all[i] {
					all[i][k] = byte(rng.Uint32())
				}
			}
			for _, f := range Search(all).Fits {
				accidents++
				if f.Chance < 1e-6 {
					t.Fatalf("%X: %v with chance %g", all, f.Spec, f.Chance)
				}
			}
		}
	}
	if accidents == 0 {
		t.Error("no accidental fit at all: the test shows nothing")
	}
}

// One frame a hundred times is one frame, and a counter counts as two for a sum.
func TestSearchCountsContentOnce(t *testing.T) {
	spec := Spec{Sum: simple{kind: sum8}, To: -1, At: -1}
	one := []byte{0x10, 0x20, 0x30, 0}
	spec.Put(one)
	var same, counter [][]byte
	for i := range 100 {
		same = append(same, one)
		f := []byte{0x10, byte(i % 8), 0x33, 0}
		spec.Put(f)
		counter = append(counter, f)
	}
	if res := Search(same); res.Distinct != 1 || len(res.Fits) == 0 || res.Fits[0].Chance < 0.1 {
		t.Errorf("one frame: %d distinct, %v", res.Distinct, res.Fits)
	}
	res := Search(counter)
	if res.Distinct != 8 || len(res.Fits) == 0 {
		t.Fatalf("counter: %d distinct, %v", res.Distinct, res.Fits)
	}
	if res.Fits[0].Spec.Sum.String() != "sum8" || res.Fits[0].Chance < 1e-6 {
		t.Errorf("counter: %v, want sum8 with a chance that is not accepted", res.Fits[0])
	}
	if needs := Needs(res.Fits[0].Chance, 1e-6, 1); needs < 1 || needs > 3 {
		t.Errorf("needs %d more frames", needs)
	}
}

// The second octet of Fletcher's sum is no end mark of a sum8.
func TestSearchTakesNoMarkThatChanges(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	spec := Spec{Sum: simple{kind: fletcher256}, To: -2, At: -2, Order: Little}
	res := Search(frames(rng, 10, 12, spec, false))
	if len(res.Fits) != 1 || res.Fits[0].Spec.Sum.String() != "fletcher16-mod256" {
		t.Errorf("got %v", res.Fits)
	}
}

func TestSearchOfOddInput(t *testing.T) {
	for _, in := range [][][]byte{nil, {{}}, {{}, {}}, {{1}}, {{1, 2}, {}}, {{0, 0, 0, 0}}} {
		res := Search(in)
		for _, f := range res.Fits {
			if f.Chance < 1e-3 || f.Chance > 1 {
				t.Errorf("%X: %v", in, f)
			}
		}
	}
}

func TestChance(t *testing.T) {
	for _, c := range []struct {
		tried, size, samples int
		want                 float64
	}{
		{256, 1, 0, 1},
		{256, 1, -1, 1},
		{1, 1, 1, 1. / 256},
		{2, 1, 1, 1 - 255.*255/65536},
		{100, 2, 4, 100 * math.Exp2(-64)},
	} {
		if got := chance(c.tried, c.size, c.samples); math.Abs(got-c.want) > 1e-12*c.want {
			t.Errorf("chance(%d, %d, %d) = %g, want %g", c.tried, c.size, c.samples, got, c.want)
		}
	}
	for _, c := range []struct {
		chance float64
		size   int
		want   int
	}{{1e-9, 1, 0}, {1, 1, 3}, {1, 2, 2}, {1.1e-6, 1, 1}} {
		if got := Needs(c.chance, 1e-6, c.size); got != c.want {
			t.Errorf("Needs(%g, 1e-6, %d) = %d, want %d", c.chance, c.size, got, c.want)
		}
	}
}

func TestRanks(t *testing.T) {
	for name, c := range map[string]struct {
		frames   [][]byte
		add, xor int
	}{
		"none":             {nil, 0, 0},
		"zeros":            {[][]byte{{0, 0}}, 0, 0},
		"one":              {[][]byte{{1, 2}}, 1, 1},
		"counter":          {[][]byte{{0, 0}, {1, 1}, {2, 2}, {3, 3}}, 1, 2},
		"marked counter":   {[][]byte{{9, 0, 9}, {9, 1, 10}, {9, 2, 11}, {9, 3, 12}}, 2, 4},
		"two lengths":      {[][]byte{{5}, {0, 5}}, 1, 1},
		"three octets":     {[][]byte{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 1, 255}}, 3, 4},
		"sum of the first": {[][]byte{{1, 0}, {0, 1}, {1, 1}}, 2, 2},
	} {
		if got := additiveRank(c.frames); got != c.add {
			t.Errorf("%s: additive rank %d, want %d", name, got, c.add)
		}
		if got := xorRank(c.frames); got != c.xor {
			t.Errorf("%s: xor rank %d, want %d", name, got, c.xor)
		}
	}
}
