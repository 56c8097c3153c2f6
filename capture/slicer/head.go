package slicer

import "linewitness/capture"

const (
	mostHeld   = 128 // windows held while levels are learned
	waveHeld   = 64  // with a half-wave supply, until both sides were seen
	waveTime   = 25  // s held with a half-wave supply, so that stays were seen that begin late in a lit half cycle
	leastHeld  = 4   // windows from which levels are learned
	restHeld   = 2   // quiet windows kept before the first jump
	enoughRuns = 300 // plateaus that make more waiting needless
)

// head holds windows until levels can be learned from them.
type head struct {
	w       []window
	spare   []window
	active  int  // windows with jumps
	looked  int  // windows from which learning has failed
	wait    bool // for a whole head: jumps are the mains' own
	scratch []float64
}

func (h *head) push(w *window) {
	var c window
	if n := len(h.spare); n > 0 {
		c, h.spare = h.spare[n-1], h.spare[:n-1]
	}
	w.copyTo(&c)
	h.w = append(h.w, c)
}

// drop forgets the oldest n windows and keeps their storage.
func (h *head) drop(n int) {
	for _, w := range h.w[:n] {
		if w.shape.edge > 0 {
			h.active--
		}
		h.spare = append(h.spare, w)
	}
	h.w = h.w[:copy(h.w, h.w[n:])]
	h.looked = max(h.looked-n, 0)
}

// hold keeps a window until levels are known, and gives away quiet ones.
func (s *Slicer) hold(w *window) error {
	h := &s.head
	w.shape, h.scratch = look(w.v, s.seconds(), h.scratch)
	s.mains.add(w, s.seconds())
	if w.shape.edge > 0 {
		w.shape.runs = countRuns(w, &h.scratch, s.spacing.uniform)
		h.active++
	}
	h.push(w)
	if h.active == 0 {
		if len(w.v) > 0 {
			s.flat, s.flatSet, s.noise = w.shape.mean, true, w.shape.noise
		}
		return s.giveAway(len(h.w) - restHeld)
	}
	if h.runs() >= enoughRuns && len(h.w) >= leastHeld || len(h.w) >= mostHeld {
		return s.settleHead(false)
	}
	return nil
}

// runs is about how many plateaus there are in the windows that learning has not failed from, but for a rest's ripple.
func (h *head) runs() int {
	r, n := rippleOf(h.w), 0
	for i := range h.w[h.looked:] {
		if sh := &h.w[h.looked+i].shape; sh.edge > 0 && !r.is(sh) {
			n += sh.runs
		}
	}
	return n
}

// seconds is the distance of samples; 0 where rows are changes.
func (s *Slicer) seconds() float64 {
	if !s.spacing.known || !s.spacing.uniform {
		return 0
	}
	return s.clock.Seconds(s.spacing.median)
}

// giveAway hands out the oldest n windows without levels.
func (s *Slicer) giveAway(n int) error {
	if n <= 0 {
		return nil
	}
	for i := range s.head.w[:n] {
		w := &s.head.w[i]
		if err := s.out.plain(w, s.emit); err != nil {
			return err
		}
	}
	s.head.drop(n)
	return nil
}

// settleHead learns from what is held and replays it; without success the windows go out without levels.
func (s *Slicer) settleHead(all bool) error {
	h := &s.head
	if h.active > 0 {
		// Under the hum of a pair, or in the lit half cycles of a supply, there may be more than mains.
		lv, u, ok := s.learnLevels(h.w)
		if ok && u.wave.rate > 0 && s.tooFew(lv.n) && !all {
			h.looked = len(h.w)
			return nil
		}
		if ok && (u.hum.turn > 0 || u.wave.rate > 0 || s.jumpy() || !s.mainsOnly()) {
			return s.replay(lv, u)
		}
	}
	h.looked = len(h.w)
	if h.wait && !all && len(h.w) < mostHeld {
		return nil
	}
	n := len(h.w)
	if !all {
		n -= restHeld
	}
	return s.giveAway(n)
}

// tooFew tells that a line with a half-wave supply, which is slow, has not shown enough for so many levels.
func (s *Slicer) tooFew(levels int) bool {
	n := len(s.head.w)
	return levels < 3 && n < waveHeld || n < mostHeld && float64(n*size)*s.seconds() < waveTime
}

// jumpy tells that most windows with jumps have sharper ones than mains make: what follows on the last of them may be a rest with a
// little hum.
func (s *Slicer) jumpy() bool {
	sharp := 0
	for i := range s.head.w {
		if isSharp(s.head.w[i].shape.edge, s.seconds()) {
			sharp++
		}
	}
	return 2*sharp > s.head.active
}

// replay starts a tracker with the windows held.
func (s *Slicer) replay(lv levels, u undo) error {
	s.tracker = newTracker(lv, u, s.spacing, s.seconds())
	h := &s.head
	s.tracker.begin(&h.w[0])
	for i := range h.w {
		if err := s.tracker.slice(s, &h.w[i]); err != nil {
			return err
		}
	}
	s.head = head{scratch: h.scratch}
	return nil
}

// output hands blocks out and knows where the last one ended.
type output struct {
	block capture.Block
	level capture.Level // at the end of the last block
}

// plain hands a window out as it is, with an unknown level.
func (o *output) plain(w *window, emit func(*capture.Block) error) error {
	if w.empty() {
		return nil
	}
	b := &o.block
	b.Start, b.End, b.Gap, b.First = w.start, w.end, w.gap, capture.Unknown
	b.At, b.To, b.Doubt = b.At[:0], b.To[:0], b.Doubt[:0]
	b.SampleAt, b.Volts = w.at, w.v
	o.level = capture.Unknown
	return emit(b)
}
