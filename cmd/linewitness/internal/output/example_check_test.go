package output

import "linewitness/decode/check"

func nextCheck() check.Ranked {
	return check.Ranked{
		ID: "A-B@outdoor", Do: "Measure A to B at the outdoor terminals.", Caution: "Prove dead first. Local codes come first.", Live: true, Minutes: 5,
		Separates: []string{"silent-sender/outdoor", "open-conductor/line"}, Gain: 0.5,
	}
}
