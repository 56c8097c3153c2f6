package tally

// cell is what a column counts. Add folds another column into it, in any order with the same result; the zero value is empty.
type cell[T any] interface {
	*T
	Add(*T)
}

// Columns counts along a whole-numbered axis, time in ticks or volts in small steps, in a bounded number of columns of equal width.
// A column's border is a whole multiple of its width, counted from 0 of the axis, and the width doubles while what was seen
// does not fit: two columns become one, which loses nothing that was counted. So the columns depend on what was added alone, not on
// its order nor on how it was grouped.
type Columns[T any, P cell[T]] struct {
	unit       int64 // of the axis: a column's width at first
	fold       uint  // times the width doubled
	first, end int64 // numbers of the columns that hold something: first up to, but not including, end
	cells      []T   // column n at n modulo their number, a power of two; the others are empty
	now        int   // place in cells of the column that was used last, and
	from, till int64 // what it covers; an index costs the collector nothing, a pointer would
}

// newColumns makes most columns, a power of two, that are unit wide at first.
func newColumns[T any, P cell[T]](unit int64, most int) Columns[T, P] {
	return Columns[T, P]{unit: max(unit, 1), cells: make([]T, most)}
}

// Width is a column's width on the axis.
func (c *Columns[T, P]) Width() int64 { return c.unit << c.fold }

// Len is the number of columns from the first that holds something to the last.
func (c *Columns[T, P]) Len() int { return int(c.end - c.first) }

// Column is the i-th of Len columns, and where it begins on the axis.
func (c *Columns[T, P]) Column(i int) (from int64, cell *T) {
	n := c.first + int64(i)
	return n * c.Width(), c.slot(n)
}

func (c *Columns[T, P]) slot(n int64) *T { return &c.cells[c.place(n)] }

func (c *Columns[T, P]) place(n int64) int { return int(n & int64(len(c.cells)-1)) }

// At is the column at a place of the axis.
func (c *Columns[T, P]) At(x int64) *T {
	if x < c.from || x >= c.till {
		c.turn(x)
	}
	return &c.cells[c.now]
}

// turn makes the column at x the one used last.
func (c *Columns[T, P]) turn(x int64) {
	n := floor(x, c.unit)
	c.reach(n)
	n >>= c.fold
	c.now, c.from = c.place(n), n*c.Width()
	c.till = c.from + c.Width()
}

// reach makes room for the place that stood in column n at first.
func (c *Columns[T, P]) reach(n int64) {
	n >>= c.fold
	if c.first == c.end {
		c.first, c.end = n, n+1
		return
	}
	by := uint(0)
	for max(c.end-1, n)>>by-min(c.first, n)>>by >= int64(len(c.cells)) {
		by++
	}
	c.widen(by)
	c.first, c.end = min(c.first, n>>by), max(c.end, n>>by+1)
}

// widen doubles the width so many times, whether or not anything stands in the columns.
func (c *Columns[T, P]) widen(by uint) {
	if by == 0 {
		return
	}
	c.fold += by
	if c.first == c.end {
		return
	}
	old := make([]T, len(c.cells))
	copy(old, c.cells)
	clear(c.cells)
	for n := c.first; n < c.end; n++ {
		P(c.slot(n >> by)).Add(&old[c.place(n)])
	}
	c.first, c.end, c.from, c.till = c.first>>by, (c.end-1)>>by+1, 0, 0
}

// Merge folds columns of the same unit and number into c.
func (c *Columns[T, P]) Merge(o *Columns[T, P]) {
	if o.first == o.end {
		return
	}
	c.widen(max(c.fold, o.fold) - c.fold)
	c.reach(o.first << o.fold)
	c.reach((o.end - 1) << o.fold)
	for n := o.first; n < o.end; n++ {
		P(c.slot(n << o.fold >> c.fold)).Add(o.slot(n))
	}
}

// Clone is a copy that does not move when c goes on.
func (c *Columns[T, P]) Clone() Columns[T, P] {
	d := *c
	d.cells = append([]T(nil), c.cells...)
	d.now, d.from, d.till = 0, 0, 0
	return d
}

// floor is a/b rounded down, b > 0.
func floor(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
