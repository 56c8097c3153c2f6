// Package decode is the straight line from a recording to its Finding.
//
//	Block -> burst.Batch -> uart.Chars -> link.Frames -> validate.Facts -> verdict -> Finding
//
// An Examiner takes blocks and gives a Finding at any time, in constant memory and one pass. Batches are decoded on all
// cores; one goroutine folds them in order, so that the result depends neither on the number of cores nor on how the
// recording was cut into blocks.
package decode
