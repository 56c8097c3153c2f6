package decode

import (
	"sync"

	"linewitness/capture/burst"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/validate"
)

// job is one batch on its way: refilled, decoded by any worker, folded in order.
type job struct {
	batch   burst.Batch
	read    *uart.Reader // scratch of its own
	folded  *burst.Batch // what read made of batch, valid until its next Read
	edges   validate.EdgeWalk
	chars   uart.Chars
	frames  link.Frames
	quality []validate.Quality
	done    chan struct{}
}

// crew decodes jobs on several goroutines and folds them in order on one. With one worker all of it happens in the
// caller.
type crew struct {
	decode, fold func(*job)
	cur          *job
	idle         chan *job // jobs to refill
	todo         chan *job // to the workers
	order        chan *job // to the fold, in order of submission; nil: the one decoder folds
	workers      sync.WaitGroup
	folder       sync.WaitGroup
	flying       sync.WaitGroup // submitted and not yet folded
	single       bool
	stopped      bool
}

// newCrew starts the goroutines: the caller, who reads, counts as one of the workers. Jobs in flight are limited to four
// a worker, which bounds the memory and lets a slow batch be overtaken.
func newCrew(workers int, decode, fold func(*job)) *crew {
	c := &crew{decode: decode, fold: fold, single: workers <= 1}
	if c.single {
		c.cur = &job{}
		return c
	}
	n := 4 * workers
	c.idle, c.todo = make(chan *job, n), make(chan *job, n)
	for range n {
		c.idle <- &job{done: make(chan struct{}, 1)}
	}
	if workers == 2 {
		c.workers.Go(c.decodeAndFold)
		return c
	}
	c.order = make(chan *job, n)
	for range workers - 1 {
		c.workers.Go(c.decodeOnly)
	}
	c.folder.Go(c.foldInOrder)
	return c
}

// decodeAndFold does both: a single decoder is in order by itself.
func (c *crew) decodeAndFold() {
	for j := range c.todo {
		c.decode(j)
		c.fold(j)
		c.release(j)
	}
}

func (c *crew) decodeOnly() {
	for j := range c.todo {
		c.decode(j)
		j.done <- struct{}{}
	}
}

func (c *crew) foldInOrder() {
	for j := range c.order {
		<-j.done
		c.fold(j)
		c.release(j)
	}
}

func (c *crew) release(j *job) {
	c.idle <- j
	c.flying.Done()
}

// batch is an empty batch of a job that is free; it waits for one.
func (c *crew) batch() *burst.Batch {
	if !c.single {
		c.cur = <-c.idle
	}
	return &c.cur.batch
}

// submit sends the batch that was taken last on its way.
func (c *crew) submit(b *burst.Batch) error {
	if c.single {
		c.decode(c.cur)
		c.fold(c.cur)
		return nil
	}
	c.flying.Add(1)
	if c.order != nil {
		c.order <- c.cur
	}
	c.todo <- c.cur
	return nil
}

// wait returns when everything submitted is folded.
func (c *crew) wait() { c.flying.Wait() }

// stop ends the goroutines after what was submitted.
func (c *crew) stop() {
	if c.single || c.stopped {
		return
	}
	c.stopped = true
	close(c.todo)
	c.workers.Wait()
	if c.order != nil {
		close(c.order)
		c.folder.Wait()
	}
}
