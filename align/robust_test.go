package align

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// The biweight with cut 4.685 is 95 % efficient for normal noise (Holland and
// Welsch 1977, table 1): the inverse of E psi^2 / (E psi')^2, here by the
// midpoint rule.
func TestTukeyIsEfficient(t *testing.T) {
	var psiSq, slope float64
	const h = 1e-3
	for x := -8 + h/2; x < 8; x += h {
		p := math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) * h
		psi := func(x float64) float64 { return x * tukey(x/tukeyCut) }
		psiSq += p * psi(x) * psi(x)
		slope += p * (psi(x+1e-5) - psi(x-1e-5)) / 2e-5
	}
	if got := slope * slope / psiSq; math.Abs(got-0.95) > 0.0005 {
		t.Errorf("efficiency %.4f, want 0.95", got)
	}
}

// The scatter of normal noise is its standard deviation, and wild values do
// not move it: with a fifth of them it is that of the 5/8 quantile, 0.887/0.674
// times as much (normal tables).
func TestScatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(10, 1))
	x := make([]float64, 50000)
	for i := range x {
		x[i] = 0.02 * rng.NormFloat64()
	}
	if got := scatter(slices.Clone(x)); math.Abs(got/0.02-1) > 0.02 {
		t.Errorf("scatter %g, want 0.02", got)
	}
	for i := range len(x) / 5 {
		x[i] = 3
	}
	if got, want := scatter(x), 0.02*0.8871/0.6745; math.Abs(got/want-1) > 0.02 {
		t.Errorf("scatter with wild values %g, want %g", got, want)
	}
}

// E. Parzen's inverse with linear interpolation (type 7 of R. J. Hyndman, Y.
// Fan, The American Statistician 50 (1996) 361-365), by hand.
func TestQuantile(t *testing.T) {
	x := []float64{1, 2, 4, 8}
	for q, want := range map[float64]float64{0: 1, 0.5: 3, 0.75: 5, 1: 8, 0.9: 6.8} {
		if got := quantile(x, q); math.Abs(got-want) > 1e-12 {
			t.Errorf("quantile %g = %g, want %g", q, got, want)
		}
	}
	if !math.IsNaN(quantile(nil, 0.5)) {
		t.Error("a quantile of nothing")
	}
}
