package slicer

// A rest's ripple moves little, and slowly.
const (
	ripplePart = 0.1 // of the second widest range of a window: the widest may be a surge
	rippleSlow = 8   // times what jumps take in wider windows
)

// ripple is what a window with a rest shows beside windows with talk.
type ripple struct {
	spread float64 // less than it
	edge   int     // more samples than so many
}

func rippleOf(w []window) ripple {
	first, second := 0.0, 0.0
	for i := range w {
		if sh := &w[i].shape; sh.edge > 0 {
			first, second = max(first, sh.spread), max(second, min(first, sh.spread))
		}
	}
	r := ripple{spread: ripplePart * second}
	var edges []float64
	for i := range w {
		if sh := &w[i].shape; sh.edge > 0 && sh.spread >= r.spread {
			edges = append(edges, float64(sh.edge))
		}
	}
	r.edge = rippleSlow * int(median(edges))
	return r
}

// is tells whether a window that seems to have jumps has but a ripple.
func (r ripple) is(s *shape) bool { return s.spread < r.spread && s.edge > r.edge }
