package tally

// The columns of an eye: EyeBits unit intervals of EyeSteps columns each. Column c is centred on c/EyeSteps unit intervals, so that an
// edge in its place falls into the middle of one.
const (
	EyeBits    = 2
	EyeSteps   = 48
	EyeColumns = EyeBits * EyeSteps
)

// Mark and Space are places in a pair of counts.
const (
	Mark = iota
	Space
)

// Eye lays all characters over each other, window by window of EyeBits unit intervals from their start edge on, at the link's speed.
// All are counts.
type Eye struct {
	Characters int64
	To         [2][EyeColumns]int64 // transitions to mark and to space, without the start edges
	cut, ends  [EyeColumns]int64    // characters that end, at space and at all
	spaceTurns int64                // windows' ends that fell into a space, and
	turns      int64                // into a character
}

// Seen is how many windows cover column c.
func (e *Eye) Seen(c int) int64 {
	n := e.turns + e.Characters
	for i := range c + 1 {
		n -= e.ends[i]
	}
	return n
}

// Space is in how many of those the line stands at space.
func (e *Eye) Space(c int) int64 {
	n := e.spaceTurns + e.Characters
	for i := range c + 1 {
		n += e.To[Space][i] - e.To[Mark][i] - e.cut[i]
	}
	return n
}

// end counts a character that ends in column at, counted from its start edge.
func (e *Eye) end(at, state int) {
	turns := at / EyeColumns
	e.ends[at-turns*EyeColumns]++
	e.turns += int64(turns)
	if state == Space {
		e.cut[at-turns*EyeColumns]++
		e.spaceTurns += int64(turns)
	}
}

// Merge folds o into e.
func (e *Eye) Merge(o *Eye) {
	e.Characters += o.Characters
	e.turns += o.turns
	e.spaceTurns += o.spaceTurns
	for i := range EyeColumns {
		e.To[Mark][i] += o.To[Mark][i]
		e.To[Space][i] += o.To[Space][i]
		e.cut[i] += o.cut[i]
		e.ends[i] += o.ends[i]
	}
}
