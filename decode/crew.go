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
	chars   uart.Chars
	frames  link.Frames
	quality []validate.Quality
	done    chan struct{}
}

// crew decodes jobs on several goroutines and folds them in order on one. With one worker all of it happens in the
// caller, which is then its own fold.
type crew struct {
	decode, fold func(*job)
	cur          *job
	idle         chan *job // jobs to refill
	todo         chan *job // to the workers
	order        chan *job // to the fold, in order of submission
	workers      sync.WaitGroup
	folder       sync.WaitGroup
	flying       sync.WaitGroup // submitted and not yet folded
	single       bool
	stopped      bool
}

// newCrew starts the goroutines. Jobs in flight are limited to four a worker, which bounds the memory and lets a slow
// batch be overtaken.
func newCrew(workers int, decode, fold func(*job)) *crew {
	c := &crew{decode: decode, fold: fold, single: workers <= 1}
	if c.single {
		c.cur = &job{}
		return c
	}
	n := 4 * workers
	c.idle, c.todo, c.order = make(chan *job, n), make(chan *job, n), make(chan *job, n)
	for range n {
		c.idle <- &job{done: make(chan struct{}, 1)}
	}
	c.workers.Add(workers)
	for range workers {
		go func() {
			defer c.workers.Done()
			for j := range c.todo {
				c.decode(j)
				j.done <- struct{}{}
			}
		}()
	}
	c.folder.Add(1)
	go func() {
		defer c.folder.Done()
		for j := range c.order {
			<-j.done
			c.fold(j)
			c.idle <- j
			c.flying.Done()
		}
	}()
	return c
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
	c.order <- c.cur
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
	close(c.order)
	c.folder.Wait()
}
