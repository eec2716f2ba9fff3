package assay

import "crownassay/record"

// Options are how a run is done, not what it measures.
type Options struct {
	// Progress is told each step and how much of it is done; nil for none.
	// It is called from one goroutine at a time.
	Progress func(step string, done, total int)

	// First is given the record of the preparation before the crowns are
	// measured, where there is any; nil for not.
	First func(*record.Record)
}
