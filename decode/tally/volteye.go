package tally

import "math"

// VoltRow counts samples of one range of volts by column of an eye.
type VoltRow [EyeColumns]int64

// Add folds o into r.
func (r *VoltRow) Add(o *VoltRow) {
	for i, n := range o {
		r[i] += n
	}
}

// VoltEye is an Eye in volts: samples by column and by range of volts. The ranges are whole multiples of a power of two volts.
type VoltEye struct {
	rows Columns[VoltRow, *VoltRow]
}

const (
	voltRows = 128
	voltUnit = 1. / (1 << 20) // V: where only full scale is known, a millionth of it
	voltMost = 1 << 40        // of those, farther than anything on a line
)

func newVoltEye() *VoltEye { return &VoltEye{rows: newColumns[VoltRow](1, voltRows)} }

// Rows is how many ranges hold something, from the lowest to the highest.
func (e *VoltEye) Rows() int { return e.rows.Len() }

// Row is the i-th range and its counts: volts from, up to but not including to.
func (e *VoltEye) Row(i int) (from, to float64, n *VoltRow) {
	low, row := e.rows.Column(i)
	return float64(low) * voltUnit, float64(low+e.rows.Width()) * voltUnit, row
}

// add counts one sample; what is no number, or infinite, is passed over.
func (e *VoltEye) add(column int, volts float64) {
	if volts-volts != 0 {
		return
	}
	e.rows.At(int64(math.Floor(min(max(volts/voltUnit, -voltMost), voltMost))))[column]++
}

// Merge folds o into e.
func (e *VoltEye) Merge(o *VoltEye) {
	e.rows.Merge(&o.rows)
}
