package spc

import (
	"math"
	"testing"
)

// TestTogetherTea is the tasting of eight cups, four of them with the milk poured
// first: all four found has the probability 1/70, three or more 17/70 (R. A.
// Fisher, The Design of Experiments, 1935, chapter II).
func TestTogetherTea(t *testing.T) {
	for _, c := range []struct {
		k, j int
		want float64
	}{{4, 0, 1.0 / 70}, {3, 1, 17.0 / 70}, {0, 4, 1}} {
		if got := Together(c.k, 4, c.j, 4); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%d of 4 = %.6f, want %.6f", c.k, got, c.want)
		}
	}
	if got := Together(0, 0, 5, 9); got != 1 {
		t.Errorf("with nobody outside = %g, want 1", got)
	}
}
