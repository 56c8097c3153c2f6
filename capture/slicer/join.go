package slicer

import "linewitness/capture"

// samples are instants and values, as many of each.
type samples struct {
	at []capture.Tick
	v  []float64
}

// join puts a window behind the samples not yet handed out. Where it follows them in memory nothing is copied.
func (t *tracker) join(w *window) {
	t.stop = w.end
	if len(t.v) > 0 && follows(t.tail.v, w.v) && follows(t.tail.at, w.at) {
		n := len(t.v) + len(w.v)
		t.at, t.v = t.tail.at[:n:n], t.tail.v[:n:n]
		return
	}
	t.at, t.v = append(t.at, w.at...), append(t.v, w.v...)
	t.own = samples{t.at[:0], t.v[:0]} // it may have grown
}

// retain keeps a copy of all samples but the first cut.
func (t *tracker) retain(cut int) {
	t.at, t.v = append(t.own.at[:0], t.at[cut:]...), append(t.own.v[:0], t.v[cut:]...)
	t.tail = samples{}
	if t.undo.active() {
		t.x = t.x[:copy(t.x, t.x[cut:])]
	} else {
		t.x = t.v
	}
	t.i -= cut
	t.decided = max(t.decided-cut, -1)
	t.seen = max(t.seen-cut, 0)
}

// locate finds the samples retained in the window they came with.
func (t *tracker) locate(w *window) {
	if from := len(w.v) - len(t.v); from >= 0 {
		t.tail = samples{w.at[from:], w.v[from:]}
	}
}

// follows tells whether b lies right behind a in one array.
func follows[T any](a, b []T) bool {
	n := len(a)
	return n > 0 && len(b) > 0 && n+len(b) <= cap(a) && &a[:n+1][n] == &b[0]
}
