package survival

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Subject is one observation.
type Subject struct {
	Time  float64 // from delivery to the loss, or to the last time it was seen in use
	Cause int     // of the loss, from 1 on; 0 while it is in use (censored)
}

// check refuses times that are none, and returns the subjects by time.
func check(subjects []Subject) ([]Subject, error) {
	for i, s := range subjects {
		if !(s.Time >= 0) || math.IsInf(s.Time, 0) || s.Cause < 0 {
			return nil, fmt.Errorf("observation %d: time %g with cause %d: a time is zero or more, a cause 0 (none yet) or more", i+1, s.Time, s.Cause)
		}
	}
	out := slices.Clone(subjects)
	slices.SortStableFunc(out, func(a, b Subject) int { return cmp.Compare(a.Time, b.Time) })
	return out, nil
}

// AtRisk counts the subjects that are under observation just before each of
// the times.
func AtRisk(subjects []Subject, times []float64) []int {
	out := make([]int, len(times))
	for i, t := range times {
		for _, s := range subjects {
			if s.Time >= t {
				out[i]++
			}
		}
	}
	return out
}
