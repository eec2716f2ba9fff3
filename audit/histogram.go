package audit

import "math"

// wantedBins bounds a histogram; rounding its width may make half as many more.
const wantedBins = 25

// bins counts sorted values in bins of a round width, 1, 2 or 5 times a power
// of ten, about as wide as two quartile distances by the cube root of the count
// (Freedman and Diaconis 1981, Z Wahrscheinlichkeitstheorie 57:453, from memory).
func bins(sorted []float64) []Bin {
	out := []Bin{}
	n := len(sorted)
	if n < leastMedian {
		return out
	}
	low, high := sorted[0], sorted[n-1]
	q := quantiles(sorted)
	w := 2 * (*q.P75 - *q.P25) / math.Cbrt(float64(n))
	w = round(math.Max(w, (high-low)/wantedBins))
	if w == 0 { // all are the same
		return append(out, Bin{low, high, n})
	}
	first := math.Floor(low / w)
	for _, x := range sorted {
		k := max(int(math.Floor(x/w)-first), 0)
		for len(out) <= k {
			i := first + float64(len(out))
			out = append(out, Bin{From: i * w, To: (i + 1) * w})
		}
		out[k].Count++
	}
	return out
}

// round makes a width the nearest of 1, 2, 5, 10 times a power of ten, by their
// ratio; 0 stays 0.
func round(w float64) float64 {
	if w <= 0 {
		return 0
	}
	p := math.Pow(10, math.Floor(math.Log10(w)))
	for _, k := range []struct{ to, width float64 }{{2, 1}, {10, 2}, {50, 5}} {
		if q := w / p; q*q < k.to {
			return k.width * p
		}
	}
	return 10 * p
}
