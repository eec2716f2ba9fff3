package assay

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"
	"crownassay/internal/phantom"
)

// TestSummary: sums of four quantities as in JCGM 101, 9.2 (values from memory,
// the second recomputed): four standard normal ones give a standard uncertainty
// of 2.00 and 95 % within 3.92; four rectangular ones of standard deviation 1
// give 2.00 and 3.88.
func TestSummary(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct {
		name string
		draw func() float64
		end  float64
	}{
		{"normal", rng.NormFloat64, 3.92},
		{"rectangular", func() float64 { return math.Sqrt(3) * (2*rng.Float64() - 1) }, 3.88},
	} {
		v := make([]float64, 400000)
		for i := range v {
			v[i] = c.draw() + c.draw() + c.draw() + c.draw()
		}
		s := summary(v)
		if math.Abs(s.Mean) > 0.02 || math.Abs(s.Standard-2) > 0.01 || math.Abs(s.Low+c.end) > 0.03 || math.Abs(s.High-c.end) > 0.03 {
			t.Errorf("%s: mean %.3f, standard %.3f, %.3f to %.3f; want 0, 2, -%.2f to %.2f", c.name, s.Mean, s.Standard, s.Low, s.High, c.end, c.end)
		}
	}
}

// TestNumericalTolerance: JCGM 101, 7.9.2, examples of the clause (from
// memory): u = 0.000 35 g to one digit is 4 x 10^-4, so half of 10^-4; u = 2 K
// gives 0.5 K.
func TestNumericalTolerance(t *testing.T) {
	for _, c := range []struct{ u, want float64 }{{0.00035, 0.00005}, {2, 0.5}, {32, 5}} {
		if got := numericalTolerance(c.u); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("tolerance of %g is %g, want %g", c.u, got, c.want)
		}
	}
}

// TestDistortion: each component has the standard deviation asked for, and the
// difference over a tenth of the shortest wave is small.
func TestDistortion(t *testing.T) {
	var sum, near, n float64
	for seed := range uint64(400) {
		d := newDistortion(0.0144, rand.New(rand.NewPCG(seed, 1)))
		for _, p := range []geom.Vec{geom.V(0, 0, 0), geom.V(30, 4, 9), geom.V(-7, 50, 2)} {
			v := d.at(p)
			sum += v.NormSq() / 3
			near += d.at(p.Add(geom.V(shortestWave/10, 0, 0))).DistSq(v) / 3
			n++
		}
	}
	if s := math.Sqrt(sum / n); math.Abs(s-0.0144) > 0.0006 {
		t.Errorf("standard deviation %.5f, want 0.0144", s)
	}
	if s := math.Sqrt(near / n); s > 0.006 {
		t.Errorf("over 0.8 mm it changes by %.5f", s)
	}
}

// TestMonteCarlo: the same seed gives the same result; what is drawn lies about
// what was measured; the budget is not narrower than what the draws show.
func TestMonteCarlo(t *testing.T) {
	pc := invented(t, phantom.Spec{Tooth: "46", Seed: 5, Triangles: 30000, Float32: true})
	c := loadedFrom(t, pc, t.TempDir())
	m, err := Measure(context.Background(), c, Options{})
	if err != nil {
		t.Fatal(err)
	}
	told := 0
	if err := m.MonteCarlo(context.Background(), Draws{Count: LeastDraws, Seed: 3, Progress: func(done, _ int) { told = done }}); err != nil {
		t.Fatal(err)
	}
	if told != LeastDraws || m.Record.Budget.Failed > 0 {
		t.Errorf("%d draws told, %d failed", told, m.Record.Budget.Failed)
	}
	for _, id := range []string{"preparation.convergence.mean", "preparation.clearance.occlusal", "finish_line.length", "preparation.retention.area"} {
		for _, q := range m.Record.Readings {
			if string(q.ID) != id {
				continue
			}
			d := q.MonteCarlo
			if d == nil || d.Draws != LeastDraws || !(d.Low <= d.Mean && d.Mean <= d.High && d.Standard > 0) {
				t.Fatalf("%s: %+v", id, d)
			}
			if d.Standard > q.Expanded/2*1.25 || math.Abs(d.Mean-q.Value) > q.Expanded {
				t.Errorf("%s: drawn %.4f with %.4f, measured %.4f with %.4f", id, d.Mean, d.Standard, q.Value, q.Expanded/2)
			}
		}
	}
	if err := m.MonteCarlo(context.Background(), Draws{Count: 10}); err == nil {
		t.Error("ten draws are enough for the middle 95 %")
	}
	a, b := perturbation{0.01, 0.01}.drawn(3, 1), perturbation{0.01, 0.01}.drawn(3, 1)
	x, _ := a(context.Background(), Prepared, pc.Prepared)
	y, _ := b(context.Background(), Prepared, pc.Prepared)
	for i := range x.V {
		if x.V[i] != y.V[i] {
			t.Fatal("the same seed gives another surface")
		}
	}
	cancelled, stop := context.WithCancel(context.Background())
	stop()
	if err := m.MonteCarlo(cancelled, Draws{Count: LeastDraws}); err == nil {
		t.Error("a cancelled run ends without an error")
	}
}
