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
	unit        int64 // of the axis: a column's width at first
	fold        uint  // times the width doubled
	first, last int64 // numbers of the outermost columns; first > last: none
	cells       []T   // column n at n modulo their number, a power of two; empty beyond first and last
	now         *T    // the column that was used last, and
	from, till  int64 // what it covers
}

// newColumns makes most columns, a power of two, that are unit wide at first.
func newColumns[T any, P cell[T]](unit int64, most int) Columns[T, P] {
	return Columns[T, P]{unit: max(unit, 1), first: 1, cells: make([]T, most)}
}

// Width is a column's width on the axis.
func (c *Columns[T, P]) Width() int64 { return c.unit << c.fold }

// Len is the number of columns from the first that holds something to the last.
func (c *Columns[T, P]) Len() int { return int(c.last - c.first + 1) }

// Column is the i-th of Len columns, and where it begins on the axis.
func (c *Columns[T, P]) Column(i int) (from int64, cell *T) {
	n := c.first + int64(i)
	return n * c.Width(), c.slot(n)
}

func (c *Columns[T, P]) slot(n int64) *T { return &c.cells[n&int64(len(c.cells)-1)] }

// At is the column at a place of the axis.
func (c *Columns[T, P]) At(x int64) *T {
	if x >= c.from && x < c.till {
		return c.now
	}
	c.reach(floor(x, c.unit))
	n := floor(x, c.unit) >> c.fold
	c.now, c.from = c.slot(n), n*c.Width()
	c.till = c.from + c.Width()
	return c.now
}

// reach makes room for the place that stood in column n at first.
func (c *Columns[T, P]) reach(n int64) {
	if c.first > c.last {
		c.first, c.last = n>>c.fold, n>>c.fold
		return
	}
	for {
		first, last := min(c.first, n>>c.fold), max(c.last, n>>c.fold)
		if last-first < int64(len(c.cells)) {
			c.first, c.last = first, last
			return
		}
		c.double()
	}
}

// double makes one column of two.
func (c *Columns[T, P]) double() {
	old := make([]T, len(c.cells))
	copy(old, c.cells)
	clear(c.cells)
	first, last := c.first, c.last
	c.fold++
	c.first, c.last, c.now, c.from, c.till = first>>1, last>>1, nil, 0, 0
	for n := first; n <= last; n++ {
		P(c.slot(n >> 1)).Add(&old[n&int64(len(old)-1)])
	}
}

// Merge folds columns of the same unit and number into c.
func (c *Columns[T, P]) Merge(o *Columns[T, P]) {
	if o.first > o.last {
		return
	}
	for c.fold < o.fold {
		c.wider()
	}
	c.reach(o.first << o.fold)
	c.reach(o.last << o.fold)
	for n := o.first; n <= o.last; n++ {
		P(c.slot(n << o.fold >> c.fold)).Add(o.slot(n))
	}
}

// wider doubles the width, whether or not something stands in the columns.
func (c *Columns[T, P]) wider() {
	if c.first > c.last {
		c.fold++
		return
	}
	c.double()
}

// Clone is a copy that does not move when c goes on.
func (c *Columns[T, P]) Clone() Columns[T, P] {
	d := *c
	d.cells = append([]T(nil), c.cells...)
	d.now, d.from, d.till = nil, 0, 0
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
