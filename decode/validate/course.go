package validate

// Course is the order in which good and bad events of one kind came, as far as it tells a fault that began once from one that comes
// and goes.
type Course struct {
	N, Bad int64
	Spells int64 // runs of bad ones
	Last   int64 // length of the run of bad ones that stands at the end; 0: the last was good
	Begins bool  // the first was bad
}

func (c *Course) add(bad bool) {
	if bad {
		c.Bad++
		if c.Last == 0 {
			c.Spells++
		}
		c.Last++
		c.Begins = c.Begins || c.N == 0
	} else {
		c.Last = 0
	}
	c.N++
}

// Moves counts how often a good one was followed by a good and by a bad one, and a bad one by a bad and by a good one.
func (c *Course) Moves() (goodGood, goodBad, badBad, badGood int64) {
	goodBad, badGood = c.Spells, c.Spells
	if c.Begins {
		goodBad--
	}
	ended := int64(1) // the last good one was followed by none
	if c.Last > 0 {
		badGood--
		ended = 0
	}
	if c.N == 0 {
		ended = 0
	}
	return c.N - c.Bad - ended - goodBad, goodBad, c.Bad - c.Spells, badGood
}
