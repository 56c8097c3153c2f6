package pcapng

import "linewitness/capture/internal/record"

// mostEntries is how many places of a file its index holds.
const mostEntries = 8192

// index keeps where blocks begin: all of them up to mostEntries, then every second, fourth and so on, evenly spread over
// the file and bounded for a week.
type index struct {
	entries []record.IndexEntry
	stride  int64 // every stride-th block has an entry
	blocks  int64
}

func (x *index) reset() { x.entries, x.stride, x.blocks = x.entries[:0], 1, 0 }

func (x *index) add(e record.IndexEntry) {
	if x.blocks%x.stride == 0 {
		if len(x.entries) == mostEntries {
			for i := range mostEntries / 2 {
				x.entries[i] = x.entries[2*i]
			}
			x.entries = x.entries[:mostEntries/2]
			x.stride *= 2
		}
		if x.blocks%x.stride == 0 {
			x.entries = append(x.entries, e)
		}
	}
	x.blocks++
}
