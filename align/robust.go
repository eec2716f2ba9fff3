package align

import (
	"math"
	"slices"
)

// tukeyCut is the residual, in standard deviations, from which on a point has
// no weight: 95 % efficient for normal noise. Source: P. W. Holland, R. E.
// Welsch, Robust regression using iteratively reweighted least-squares,
// Communications in Statistics A 6 (1977) 813-827, table 1.
const tukeyCut = 4.685

// tukey is the biweight of a residual u in units of tukeyCut standard
// deviations.
func tukey(u float64) float64 {
	t := 1 - float64(u*u)
	if t <= 0 {
		return 0
	}
	return float64(t * t)
}

// madScale makes a standard deviation of the median of the absolute values of
// normal noise: 1/Phi^-1(3/4).
const madScale = 1.482602218505602

// scatter is the standard deviation of residuals as their median absolute
// value tells it; x is sorted by its absolute values.
func scatter(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	for i := range x {
		x[i] = math.Abs(x[i])
	}
	slices.Sort(x)
	return madScale * quantile(x, 0.5)
}

// quantile is the value below which the given share of the sorted x lies.
func quantile(x []float64, share float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	at := share * float64(len(x)-1)
	i := int(at)
	if i >= len(x)-1 {
		return x[len(x)-1]
	}
	t := at - float64(i)
	return float64(x[i]*(1-t)) + float64(x[i+1]*t)
}
