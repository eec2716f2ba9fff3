package spc

import "math"

// d2 is the mean range of two independent normal values in standard
// deviations, 2/sqrt(pi), and sigmas the width of the limits in standard
// deviations. Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.1
// and 6.3.2.2, which rounds d2 to 1.128.
const (
	d2     = 1.128
	sigmas = 3
)

// meanRange is the upper limit of a moving range of two in mean moving ranges,
// D4. Source: the same, 6.3.2.1 (from memory: 3.267).
const meanRange = 3.267

// Individuals is the chart of single values and of their moving ranges: it has
// the mean as its center, and limits that follow from the mean difference of
// one value from the next, so that a slow drift does not widen them.
// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2.
type Individuals struct {
	Center    float64 // mean of the values
	Sigma     float64 // standard deviation of one value, mean moving range / d2
	Low, High float64 // center -+ 3 sigma
	MeanRange float64 // mean moving range
	HighRange float64 // limit of a moving range
}

// ChartIndividuals works the chart out from values in their order. Two values
// are the least; with fewer than two all but the center is NaN.
func ChartIndividuals(values []float64) Individuals {
	sum, ranges := 0.0, 0.0
	for i, x := range values {
		sum += x
		if i > 0 {
			ranges += math.Abs(x - values[i-1])
		}
	}
	n := float64(len(values))
	c := Individuals{Center: sum / n, MeanRange: math.NaN()}
	if n > 1 {
		c.MeanRange = ranges / (n - 1)
	}
	c.Sigma = c.MeanRange / d2
	c.Low, c.High = c.Center-sigmas*c.Sigma, c.Center+sigmas*c.Sigma
	c.HighRange = meanRange * c.MeanRange
	return c
}

// Out reports whether a value lies outside the limits.
func (c Individuals) Out(x float64) bool { return x < c.Low || x > c.High }
