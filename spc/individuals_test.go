package spc

import (
	"math"
	"testing"
)

// TestIndividualsHandbook is the worked example of the NIST/SEMATECH e-Handbook,
// 6.3.2.2 (from memory, and by hand): ten flow rates, mean 50.81, mean moving
// range 1.8778, limits 55.8041 and 45.8159, no value outside.
func TestIndividualsHandbook(t *testing.T) {
	data := []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	c := ChartIndividuals(data)
	for _, x := range []struct {
		name      string
		got, want float64
	}{{"center", c.Center, 50.81}, {"mean moving range", c.MeanRange, 1.8778}, {"upper limit", c.High, 55.8041}, {"lower limit", c.Low, 45.8159}} {
		if math.Abs(x.got-x.want) > 6e-5 {
			t.Errorf("%s = %.5f, want %.4f", x.name, x.got, x.want)
		}
	}
	for _, x := range data {
		if c.Out(x) {
			t.Errorf("%g is out of %g to %g", x, c.Low, c.High)
		}
	}
	if !c.Out(55.9) || !c.Out(45.7) {
		t.Error("what lies outside the limits is not out")
	}
}

// TestIndividualsConstants holds the rounded constants against what they are of
// normal values: the mean range of two is 2/sqrt(pi), its standard deviation
// sqrt(2 - 4/pi), and D4 is 1 + 3 times the ratio of these.
func TestIndividualsConstants(t *testing.T) {
	mean := 2 / math.Sqrt(math.Pi)
	if math.Abs(d2-mean) > 5e-4 {
		t.Errorf("d2 = %g, want %.4f", d2, mean)
	}
	if w := 1 + 3*math.Sqrt(2-4/math.Pi)/mean; math.Abs(meanRange-w) > 5e-4 {
		t.Errorf("D4 = %g, want %.4f", meanRange, w)
	}
}

func TestIndividualsOfOne(t *testing.T) {
	if c := ChartIndividuals([]float64{3}); c.Center != 3 || !math.IsNaN(c.Low) || c.Out(100) {
		t.Errorf("one value gives %+v, want a center and no limits", c)
	}
}
