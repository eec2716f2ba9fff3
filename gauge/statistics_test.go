package gauge

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestStudent holds the factor to the table of JCGM 100, G.2, column 95.45 %.
func TestStudent(t *testing.T) {
	for dof, want := range map[float64]float64{1: 13.97, 2: 4.53, 3: 3.31, 4: 2.87, 5: 2.65, 9: 2.32, 10: 2.28, 20: 2.13, 50: 2.05} {
		if got := student(dof); math.Abs(got-want) > 0.0051 {
			t.Errorf("student(%g) = %.4f, want %.2f", dof, got, want)
		}
	}
	if got := student(math.Inf(1)); got != 2 {
		t.Errorf("student(inf) = %g, want 2", got)
	}
}

// TestIntervalsHold repeats invented checks: the mean error's interval must
// hold the true one, and that of a single scan the next scan's error, in about 95
// % or more.
func TestIntervalsHold(t *testing.T) {
	const trials = 4000
	rng := rand.New(rand.NewPCG(3, 1))
	for _, n := range []int{2, 3, 5, 10} {
		for _, ref := range []float64{0.0005, 0.003, 0.01} {
			const off, scatter = 0.012, 0.004
			true1, next := 0, 0
			for range trials {
				calibrated := 10 + ref*rng.NormFloat64() // of a body of exactly 10
				v, f := make([]float64, n), make([]float64, n)
				for i := range v {
					v[i], f[i] = 10+off+scatter*rng.NormFloat64(), 0.0001
				}
				r := repeats(v, f, calibrated, ref, 0)
				if math.Abs(r.Trueness-off) <= r.TruenessU {
					true1++
				}
				if math.Abs(off+scatter*rng.NormFloat64()) <= r.Expanded {
					next++
				}
			}
			if p := float64(true1) / trials; p < 0.935 {
				t.Errorf("n %d, calibration %g: %.3f of the intervals hold the true error, want 0.95", n, ref, p)
			}
			if p := float64(next) / trials; p < 0.94 {
				t.Errorf("n %d, calibration %g: %.3f of the next scans are within the uncertainty, want 0.95", n, ref, p)
			}
		}
	}
}
