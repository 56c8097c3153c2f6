// Package burst cuts a stream of transitions at its silences, so that the rest can be decoded in parallel.
//
//	blocks -> bursts -> batches of about 4,096 transitions, each of whole bursts
//
// A burst is a run of transitions with no interval longer than the gap between them. It is cut, and counted, at 65,536
// transitions, so that a line which never rests cannot fill the memory.
package burst

import "linewitness/capture"

const (
	// Target is the number of transitions after which a batch is handed out at the next silence.
	Target = 4096
	// Most is the longest burst.
	Most = 65536
)

// Span is one burst: transitions [From, To) of its batch. Before is the last instant known before it (the transition
// before, or where knowledge begins), Until the first instant after it (the next transition, or where knowledge ends).
type Span struct {
	From, To      int
	Before, Until capture.Tick
	Begins        bool // knowledge begins at Before: start of the recording, or a gap
	Ends          bool // knowledge ends at Until: end of the recording, or a gap
	Torn          bool // cut at Most transitions
}

// Batch is a run of whole bursts, the unit of work. Seq counts from 0.
type Batch struct {
	Seq    int
	At     []capture.Tick
	To     []capture.Level
	Bursts []Span
}

func (b *Batch) reset(seq int) {
	b.Seq = seq
	b.At, b.To, b.Bursts = b.At[:0], b.To[:0], b.Bursts[:0]
}

// Cutter cuts blocks into batches. Make one with New; feed it with Add, and end it with Flush.
type Cutter struct {
	gap    capture.Tick
	target int
	fresh  func() *Batch
	emit   func(*Batch) error
	cur    *Batch
	seq    int
	from   int          // first transition of the open burst in cur
	open   bool         // a burst is open
	before capture.Tick // last instant known before the open burst
	begins bool
	last   capture.Tick // last transition, or where knowledge began
	end    capture.Tick // end of what is covered
	known  bool         // something is covered
	torn   int64
}

// New makes a cutter for silences longer than gap. It takes empty batches from fresh and hands full ones to emit, which
// then owns them.
func New(gap capture.Tick, fresh func() *Batch, emit func(*Batch) error) *Cutter {
	return &Cutter{gap: gap, target: Target, fresh: fresh, emit: emit}
}

// Sooner hands batches out after n transitions instead of Target: where what goes with them cannot wait.
func (c *Cutter) Sooner(n int) { c.target = n }

// Torn is the number of bursts cut for their length.
func (c *Cutter) Torn() int64 { return c.torn }

// Add cuts one block.
func (c *Cutter) Add(b *capture.Block) error {
	if !c.known || b.Gap.Present() {
		if err := c.breakAt(b); err != nil {
			return err
		}
	}
	at, to := b.At, b.To
	for len(at) > 0 {
		n, err := c.take(at, to)
		if err != nil {
			return err
		}
		at, to = at[n:], to[n:]
	}
	c.end = b.End
	return nil
}

// take copies the transitions up to the next silence into the open batch.
func (c *Cutter) take(at []capture.Tick, to []capture.Level) (int, error) {
	if c.open && at[0]-c.last > c.gap {
		if err := c.close(at[0], false); err != nil {
			return 0, err
		}
	}
	c.ensure()
	if !c.open {
		c.open, c.from, c.before = true, len(c.cur.At), c.last
	}
	room := Most - (len(c.cur.At) - c.from)
	n, last := 1, at[0]
	for n < len(at) && n < room && at[n]-last <= c.gap {
		last = at[n]
		n++
	}
	c.cur.At, c.cur.To = append(c.cur.At, at[:n]...), append(c.cur.To, to[:n]...)
	c.last = last
	if n == room {
		c.torn++
		return n, c.tear()
	}
	return n, nil
}

// ensure has an open batch, from fresh if need be.
func (c *Cutter) ensure() {
	if c.cur == nil {
		c.cur = c.fresh()
		c.cur.reset(c.seq)
		c.seq++
	}
}

// tear ends a burst that grew too long.
func (c *Cutter) tear() error {
	c.cur.Bursts = append(c.cur.Bursts, Span{From: c.from, To: len(c.cur.At), Before: c.before, Until: c.last,
		Begins: c.begins, Ends: true, Torn: true})
	c.open, c.begins = false, true
	return c.hand()
}

// breakAt ends what is open where knowledge ends, and begins anew at the block's start.
func (c *Cutter) breakAt(b *capture.Block) error {
	if c.open {
		if err := c.close(c.end, true); err != nil {
			return err
		}
	}
	c.known, c.begins = true, true
	c.last, c.end = b.Start, b.Start
	return nil
}

// close ends the open burst and hands the batch out if it is full.
func (c *Cutter) close(until capture.Tick, ends bool) error {
	c.cur.Bursts = append(c.cur.Bursts, Span{From: c.from, To: len(c.cur.At), Before: c.before, Until: until,
		Begins: c.begins, Ends: ends})
	c.open, c.begins = false, false
	if len(c.cur.At) < c.target {
		return nil
	}
	return c.hand()
}

func (c *Cutter) hand() error {
	b := c.cur
	c.cur = nil
	return c.emit(b)
}

// Flush ends the open burst at the end of what was covered and hands out what is left.
func (c *Cutter) Flush() error {
	if c.open {
		if err := c.close(c.end, true); err != nil {
			return err
		}
	}
	if c.cur == nil || len(c.cur.Bursts) == 0 {
		return nil
	}
	return c.hand()
}
