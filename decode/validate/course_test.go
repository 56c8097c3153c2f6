package validate

import (
	"math/rand/v2"
	"testing"
)

// A course counts what a row that is kept counts.
func TestCourseCountsMoves(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 7))
	for range 2000 {
		row := make([]bool, r.IntN(12))
		var c Course
		for i := range row {
			row[i] = r.IntN(3) == 0
			c.add(row[i])
		}
		var moves [4]int64
		for i := 1; i < len(row); i++ {
			k := 0
			switch {
			case !row[i-1] && row[i]:
				k = 1
			case row[i-1] && row[i]:
				k = 2
			case row[i-1]:
				k = 3
			}
			moves[k]++
		}
		gg, gb, bb, bg := c.Moves()
		if got := [4]int64{gg, gb, bb, bg}; got != moves || c.N != int64(len(row)) {
			t.Fatalf("%v: moves %v, want %v (%+v)", row, got, moves, c)
		}
		last := int64(0)
		for i := len(row) - 1; i >= 0 && row[i]; i-- {
			last++
		}
		if c.Last != last || len(row) > 0 && c.Begins != row[0] {
			t.Fatalf("%v: %+v", row, c)
		}
	}
}
