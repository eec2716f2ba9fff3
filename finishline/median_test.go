package finishline

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// TestMedian compares with the middle of the sorted numbers.
func TestMedian(t *testing.T) {
	for seed := range uint64(300) {
		r := rand.New(rand.NewPCG(seed, 5))
		v := make([]float64, 1+r.IntN(1000))
		few := 1 + r.IntN(20) // many equal ones
		for i := range v {
			switch v[i] = r.NormFloat64(); seed % 4 {
			case 1:
				v[i] = float64(r.IntN(few))
			case 2:
				v[i] = float64(i)
			case 3:
				v[i] = float64(-i)
			}
		}
		s := slices.Sorted(slices.Values(v))
		want := (s[(len(s)-1)/2] + s[len(s)/2]) / 2
		if got := Median(v); got != want {
			t.Fatalf("seed %d: median of %d = %v, want %v", seed, len(v), got, want)
		}
	}
	nan := math.NaN()
	if got := Median([]float64{3, nan, 2, nan, 1}); got != 1 {
		t.Errorf("median with numbers that are none = %v, want 1: they count as the least", got)
	}
	if got := Median(nil); got != 0 {
		t.Errorf("median of nothing = %v, want 0", got)
	}
}
