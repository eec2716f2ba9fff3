package spc

import "math"

// Drift is an exponentially weighted moving average of the mean errors of
// checks over time, with its limits.
// Source: S. W. Roberts, Control chart tests based on geometric moving averages,
// Technometrics 1 (1959) 239-250; NIST/SEMATECH e-Handbook of Statistical
// Methods, 6.3.2.4.
type Drift struct {
	Lambda float64 // weight of the newest value
	L      float64 // width of the limits in standard deviations
	Center float64
	Sigma  float64 // standard deviation of one value
	Base   int     // values from which the center was taken as their mean; 0: the center is known
}

// Moved is the average after one more value.
type Moved struct {
	Value     float64
	Average   float64
	Low, High float64
}

// Out reports whether the average lies outside its limits.
func (m Moved) Out() bool { return m.Average < m.Low || m.Average > m.High }

// Follow runs the average from the center over values, with the limits of each
// step: L sigma sqrt(lambda / (2 - lambda) (1 - (1 - lambda)^2t)), wider by what
// the center itself is uncertain where it was taken from the first values.
func (d Drift) Follow(values []float64) []Moved {
	out := make([]Moved, len(values))
	z, kept := d.Center, 1.0
	for i, x := range values {
		z = d.Lambda*x + (1-d.Lambda)*z
		kept *= 1 - d.Lambda
		v := d.Lambda / (2 - d.Lambda) * (1 - kept*kept)
		if d.Base > 0 {
			v += (1 - kept) * (1 - kept) / float64(d.Base)
		}
		w := d.L * d.Sigma * math.Sqrt(v)
		out[i] = Moved{x, z, d.Center - w, d.Center + w}
	}
	return out
}
