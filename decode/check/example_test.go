package check_test

import (
	"fmt"

	"linewitness/decode/cause"
	"linewitness/decode/check"
)

func ExampleFor() {
	candidates := []check.Candidate{
		{Cause: cause.OpenConductor, Side: "line", Probability: 0.5},
		{Cause: cause.LoopSupply, Side: "outdoor", Probability: 0.4},
		{Cause: cause.OtherCause, Side: "line", Probability: 0.1},
	}
	for _, r := range check.For(candidates, "indoor-terminal")[:3] {
		fmt.Printf("%-12s live=%t %g min, %.2f bit\n", r.ID, r.Live, r.Minutes, r.Gain)
	}
	// Output:
	// joints       live=false 15 min, 0.78 bit
	// other-end    live=false 15 min, 0.78 bit
	// series-list  live=false 5 min, 0.21 bit
}
