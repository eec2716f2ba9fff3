package spc

// Quantile is the value below which the share p of a population lies, by
// interpolating between the values at ranks round p (n + 1) of sorted ones. Ok is
// false where that lies beyond the values: of fewer than 19 none can say
// where 5 % lie.
// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.2.
func Quantile(sorted []float64, p float64) (x float64, ok bool) {
	const slack = 1e-9 // ranks: 0.05 * 20 is not quite 1
	rank := p * float64(len(sorted)+1)
	if len(sorted) == 0 || rank < 1-slack || rank > float64(len(sorted))+slack {
		return 0, false
	}
	k := min(max(int(rank), 1), len(sorted))
	d := rank - float64(k)
	if k == len(sorted) || d <= slack {
		return sorted[k-1], true
	}
	return sorted[k-1] + d*(sorted[k]-sorted[k-1]), true
}
