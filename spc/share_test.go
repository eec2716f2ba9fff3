package spc

import (
	"math"
	"testing"
)

// TestShareNewcombe has the intervals printed in Newcombe 1998, Stat Med 17:857,
// table I, method 3, to the four digits there.
func TestShareNewcombe(t *testing.T) {
	for _, c := range []struct {
		k, n      int
		low, high float64
	}{{81, 263, 0.2553, 0.3662}, {15, 148, 0.0624, 0.1605}, {0, 20, 0, 0.1611}, {1, 29, 0.0061, 0.1718}} {
		low, high := Share(c.k, c.n)
		if math.Abs(low-c.low) > 5.1e-5 || math.Abs(high-c.high) > 5.1e-5 {
			t.Errorf("Share(%d, %d) = %.5f, %.5f, want %.4f, %.4f", c.k, c.n, low, high, c.low, c.high)
		}
		// what is true of k is true of the rest
		l, h := Share(c.n-c.k, c.n)
		if math.Abs(l-(1-high)) > 1e-12 || math.Abs(h-(1-low)) > 1e-12 {
			t.Errorf("Share(%d, %d) = %g, %g is not the mirror of %g, %g", c.n-c.k, c.n, l, h, low, high)
		}
	}
}
