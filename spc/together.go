package spc

import "math"

// Together is the probability that, of so many who have something, as many or
// more lie among those outside, were the two not connected: k of n outside and j
// of m within have it. It is small where more have it outside than chance
// explains. Of nobody it is 1.
// Source: R. A. Fisher, The Design of Experiments (1935), the exact test, one
// side.
func Together(k, n, j, m int) float64 {
	have, p := k+j, 0.0
	for x := k; x <= min(n, have); x++ {
		if have-x <= m {
			p += math.Exp(choose(n, x) + choose(m, have-x) - choose(n+m, have))
		}
	}
	return math.Min(1, p)
}

// choose is the logarithm of the number of ways to take k of n.
func choose(n, k int) float64 {
	a, _ := math.Lgamma(float64(n) + 1)
	b, _ := math.Lgamma(float64(k) + 1)
	c, _ := math.Lgamma(float64(n-k) + 1)
	return a - b - c
}
