package spc

import (
	"math"
	"testing"
)

// TestHandbook is the worked example of the NIST/SEMATECH e-Handbook, 6.3.2.4
// (from memory): lambda 0.3, target 50, s 2.0539, limits 52.5884 and 47.4115,
// which are those of the steady state, and the averages to two decimals.
func TestHandbook(t *testing.T) {
	data := []float64{52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	want := []float64{50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99}
	d := Drift{Lambda: 0.3, L: 3, Center: 50, Sigma: 2.0539}
	got := d.Follow(data)
	for i, m := range got {
		if math.Abs(m.Average-want[i]) > 0.0051 {
			t.Errorf("average %d = %.4f, want %.2f", i+1, m.Average, want[i])
		}
		if m.Out() {
			t.Errorf("average %d lies outside the limits %.3f, %.3f", i+1, m.Low, m.High)
		}
	}
	// the handbook rounds sqrt(0.3/1.7) to 0.4201
	if last := got[len(got)-1]; math.Abs(last.High-52.5884) > 6e-4 || math.Abs(last.Low-47.4115) > 6e-4 {
		t.Errorf("limits = %.4f, %.4f, want 47.4115, 52.5884", last.Low, last.High)
	}
}

// TestFirstLimits: after one value the average is lambda x + (1 - lambda)
// center, so its limits are L lambda sigma away.
func TestFirstLimits(t *testing.T) {
	m := Drift{Lambda: 0.2, L: 3, Center: 1, Sigma: 0.5}.Follow([]float64{2})[0]
	if math.Abs(m.High-1.3) > 1e-12 || math.Abs(m.Average-1.2) > 1e-12 {
		t.Errorf("average %g, upper limit %g, want 1.2 and 1.3", m.Average, m.High)
	}
}
