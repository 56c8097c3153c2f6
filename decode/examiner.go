package decode

import (
	"errors"
	"fmt"
	"runtime"
	"slices"
	"sync"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/learn"
	"linewitness/decode/link"
	"linewitness/decode/tally"
	"linewitness/decode/uart"
	"linewitness/decode/validate"
)

// headBudget is how much of a recording is looked at to learn its link.
var headBudget = capture.Budget{Transitions: 20000, Bytes: 32 << 20}

// After headSeconds of talk the link is learned from what is there, if that is headFewest transitions at least.
const (
	headSeconds = 30
	headFewest  = 200
)

// Examiner takes a recording block by block. Add, Flush and Finding must not be called at the same time.
type Examiner struct {
	info    capture.Info
	opt     Options
	given   *link.Profile // as described; nil: it is learned
	profile *link.Profile // as it shows at this tap; nil: not known yet
	head    []capture.Block
	headN   int          // transitions in head
	headB   int64        // bytes in head
	headV   headVolts    // samples in head
	talk0   capture.Tick // first transition in head
	unread  int          // heads without readable talk
	skip    int          // transitions to pass over before the next head

	line  *line      // nil until the link is known
	seen  *volts     // nil: no volts
	stays holding    // of the levels, at taps of two
	other *otherLink // nil: no link was given
	ways  tally.Envelope
	rec   Recording
	any   bool
}

// New makes an Examiner. With a nil profile the link is learned from the first blocks; otherwise only what the tap shows
// of it, where volts come: how many levels there are.
func New(info capture.Info, p *link.Profile, opt Options) *Examiner {
	e := &Examiner{info: info, opt: opt, given: p}
	e.rec = Recording{Name: info.Name, Tap: opt.Tap, Start: info.Start, Clock: info.Clock}
	e.ways = tally.NewEnvelope(info.Clock)
	if e.rec.Tap == capture.TapUnknown {
		e.rec.Tap = info.Tap
	}
	if info.Volts {
		e.seen = newVolts(info, e.rec.Tap, opt.Mains)
	}
	if p != nil {
		e.other = newOtherLink()
	}
	if p != nil && (!info.Volts || info.Levels) {
		e.begin(learn.Fit(p, e.known()))
	}
	return e
}

// Add takes the next block, which it does not keep.
func (e *Examiner) Add(b *capture.Block) error {
	if err := e.account(b); err != nil {
		return err
	}
	switch {
	case e.seen == nil:
		return e.take(b)
	case e.info.Levels: // the levels as given are read, the volts give the facts about levels
		if err := e.seen.slice(b, nil); err != nil {
			return err
		}
		return e.take(b)
	}
	return e.seen.slice(b, e.take)
}

// take takes the next block of levels.
func (e *Examiner) take(b *capture.Block) error {
	e.rec.Transitions += int64(len(b.At))
	e.stays.add(b, e.info.Clock)
	e.ways.Add(b)
	if e.other != nil && e.other.keep(b) && e.line != nil {
		if err := e.other.compare(e.profile, e.info.Clock, e.known()); err != nil {
			return err
		}
	}
	if e.line != nil {
		return e.add(b)
	}
	if e.skip > 0 {
		e.skip -= len(b.At)
		return nil
	}
	e.keep(b)
	if e.headN >= headBudget.Transitions || e.headB >= headBudget.Bytes ||
		e.headN >= headFewest && b.End-e.talk0 > e.info.Clock.Ticks(headSeconds) {
		return e.learn(false)
	}
	return nil
}

// keep holds a copy of a block of the head. Silent ones are joined, so that days of silence take no memory.
func (e *Examiner) keep(b *capture.Block) {
	var volts capture.Samples // wanted for figures only
	if e.seen != nil && !e.info.Levels {
		volts = e.headV.pick(b, e.headN > 0)
	}
	if n := len(e.head); n > 0 && len(b.At) == 0 && !b.Gap.Present() && len(b.Octets) == 0 && len(volts.Volts) == 0 {
		e.head[n-1].End = b.End
		return
	}
	only := *b
	only.Samples = capture.Samples{}
	var c capture.Block
	only.CopyTo(&c)
	c.Samples = volts
	e.head = append(e.head, c)
	if e.headN == 0 && len(b.At) > 0 {
		e.talk0 = b.At[0]
	}
	e.headN += len(b.At)
	e.headB += c.Bytes() + 128
}

// add hands a block to the line, and to the figures what happened to its volts: in parts so small that the samples they are drawn
// from are still there.
func (e *Examiner) add(b *capture.Block) error {
	if e.line.scope == nil {
		return e.line.add(b)
	}
	for part := range tally.Parts(b) {
		if err := e.line.add(part); err != nil {
			return err
		}
		e.seen.show(e.line, part.End)
	}
	return nil
}

// account keeps what is said of the recording as a whole.
func (e *Examiner) account(b *capture.Block) error {
	if b.End < b.Start || e.any && b.Start < e.rec.To {
		return fmt.Errorf("%s: internal: block [%d, %d) after one that ended at %d", e.info.Name, b.Start, b.End, e.rec.To)
	}
	if !e.any {
		e.rec.From = b.Start
		if b.Gap.Present() {
			e.rec.From = b.Gap.From
		}
		e.any = true
	}
	if b.Gap.Present() {
		e.rec.Lost += b.Gap.To - b.Gap.From
		e.rec.Gaps++
	}
	e.rec.To = b.End
	e.rec.Samples += int64(len(b.Volts))
	return nil
}

// learn makes the profile from the head and replays the head through the line. A head without readable talk is dropped;
// later ones are tried less and less often.
func (e *Examiner) learn(last bool) error {
	p, err := e.link()
	head := e.head
	e.head, e.headN, e.headB, e.headV = nil, 0, 0, headVolts{}
	if errors.Is(err, uart.ErrNoTalk) {
		if e.unread++; !last {
			e.skip = headBudget.Transitions << min(e.unread, 12)
		}
		return nil
	}
	if err != nil {
		return err
	}
	e.begin(p)
	for i := range head {
		if err := e.add(&head[i]); err != nil {
			return err
		}
	}
	return nil
}

// link is the given link as the head shows it, or the one that is learned from the head.
func (e *Examiner) link() (*link.Profile, error) {
	if e.given != nil {
		return learn.Fit(e.given, e.known()), nil
	}
	return learn.Learn(e.trimmed(), e.info.Clock, e.known())
}

// known is what tap and volts say of the link before it is learned.
func (e *Examiner) known() (k learn.Known) {
	if e.seen != nil && !e.info.Levels {
		return e.seen.known()
	}
	if e.rec.Tap == capture.Pair || e.rec.Tap == capture.TapUnknown && e.given != nil && e.given.Kind == link.TwoWire {
		k.Kind = link.TwoWire
	}
	return k
}

// trimmed is the head up to a transition that does not depend on how the recording was cut into blocks.
func (e *Examiner) trimmed() []capture.Block {
	span := e.info.Clock.Ticks(headSeconds)
	n := 0
	for i := range e.head {
		b := &e.head[i]
		for k, at := range b.At {
			if n++; n > headBudget.Transitions || n > headFewest && at-e.talk0 > span {
				head := slices.Clone(e.head[:i+1])
				t := &head[i]
				t.At, t.To, t.End = t.At[:k], t.To[:k], t.Start
				if k > 0 {
					t.End = t.At[k-1]
				}
				return head
			}
		}
	}
	return e.head
}

// begin sets up the line for the profile.
func (e *Examiner) begin(p *link.Profile) {
	e.profile = p
	workers := e.opt.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	scope := e.seen != nil && !e.info.Levels
	if e.seen != nil {
		workers = 1 // slicing costs more than all that follows, and excerpts want the samples while they are at hand
	}
	e.line = newLine(e.profile, e.info.Clock, workers, e.opt.Frames)
	if e.seen != nil {
		e.line.talk.WithPhase(e.seen.phases.at)
	}
	if scope {
		e.line.scope = e.line.excerpts.WithVolts()
		e.line.talk.WithVolts(e.line.scope)
		e.line.cut.Sooner(1)
		e.line.fold.Mains(e.seen.mains.Phase)
	}
}

// Flush ends the recording: what is open is closed at its end, and the last poll may count as unanswered.
func (e *Examiner) Flush() error {
	if e.seen != nil {
		emit := e.take
		if e.info.Levels {
			emit = nil
		}
		if err := e.seen.flush(emit); err != nil {
			return err
		}
	}
	if e.line == nil && (len(e.head) > 0 || e.given != nil) {
		if err := e.learn(true); err != nil {
			return err
		}
	}
	if e.line == nil {
		return nil
	}
	if e.other != nil {
		if err := e.other.compare(e.profile, e.info.Clock, e.known()); err != nil {
			return err
		}
	}
	return e.line.finish(e.rec.To)
}

// Close ends the goroutines. It may be called at any time, more than once.
func (e *Examiner) Close() error {
	if e.line != nil {
		e.line.stop()
	}
	return nil
}

// line is the part of the straight line behind a known link.
type line struct {
	profile *link.Profile
	clock   capture.Clock
	cut     *burst.Cutter
	dec     *uart.Decoder
	framer  *link.Cutter
	frames  func(*link.Frame)

	mu       sync.Mutex // of what the fold writes
	fold     *validate.Fold
	excerpts *tally.Keeper
	scope    *tally.Scope // nil: no volts
	values   *tally.Values
	rivals   *uart.Rivals
	weighed  []float64 // scratch
	talk     *tally.Talk

	crew *crew
}

func newLine(p *link.Profile, c capture.Clock, workers int, frames func(*link.Frame)) *line {
	read := p.Line
	read.Speed = p.Speed()
	l := &line{profile: p, clock: c, dec: uart.NewDecoder(read, c), framer: link.NewCutter(p, c), frames: frames}
	l.fold = validate.NewFold(p, c)
	rest := l.framer.BurstGap(l.dec)
	l.excerpts = tally.NewKeeper(l.dec.Bit(), rest)
	l.values = tally.NewValues(p)
	l.rivals = uart.NewRivals(read, c)
	l.talk = tally.NewTalk(p, l.dec.Bit(), c)
	l.crew = newCrew(workers, l.decode, l.take)
	l.cut = burst.New(rest, l.crew.batch, l.crew.submit)
	return l
}

func (l *line) add(b *capture.Block) error {
	if l.scope != nil {
		l.scope.Add(b)
	}
	return l.cut.Add(b)
}

// decode turns a batch into frames and their quality. It runs on any goroutine.
func (l *line) decode(j *job) {
	j.chars.Reset()
	j.frames.Reset()
	j.quality = j.quality[:0]
	if j.read == nil {
		j.read = uart.NewReader(l.dec, l.profile.Spaces, l.profile.Either)
		j.edges = validate.NewEdgeWalk(l.profile, l.clock)
	}
	j.folded = j.read.Read(&j.chars, &j.batch)
	j.edges.Batch(j.folded.At)
	l.framer.Cut(&j.frames, &j.chars, &j.batch)
	for i := range j.frames.Frames {
		f := &j.frames.Frames[i]
		first := j.frames.First[i]
		j.quality = append(j.quality, validate.Measure(f, j.chars.Fits[first:first+len(f.Chars)]))
		j.edges.Measure(f, j.chars.Fits[first:], &j.quality[i])
	}
}

// take folds a decoded batch. It runs in order.
func (l *line) take(j *job) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.bursts(j)
	for i := range j.chars.Glitches {
		l.fold.Glitch(&j.chars.Glitches[i])
	}
	for i := range j.frames.Frames {
		f := &j.frames.Frames[i]
		l.fold.Add(f, &j.quality[i])
		l.values.Add(f)
		if l.frames != nil && f.Why&link.WhyCut == 0 {
			l.frames(f)
		}
	}
	l.excerpts.Take(&j.batch, j.frames.Frames, j.chars.Glitches)
	l.talk.Take(&j.batch, j.frames.Frames)
}

// bursts folds what bursts say beside their characters.
func (l *line) bursts(j *job) {
	for _, s := range j.batch.Bursts {
		l.fold.Edges(j.batch.At[s.From:s.To], j.batch.To[s.From:s.To], s.Begins)
	}
	for i := range j.folded.Bursts {
		if l.fold.Weighs() {
			l.weighed = l.rivals.Weigh(l.weighed[:0], j.folded, &j.folded.Bursts[i])
			l.fold.Weighed(l.weighed)
		}
	}
}

func (l *line) finish(end capture.Tick) error {
	if err := l.cut.Flush(); err != nil {
		return err
	}
	l.crew.wait()
	l.mu.Lock()
	defer l.mu.Unlock()
	l.fold.Finish(end)
	l.talk.Settle()
	return nil
}

func (l *line) stop() { l.crew.stop() }
