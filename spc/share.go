package spc

import "math"

// Normal95 is the 97.5 % point of the normal distribution.
const Normal95 = 1.959963984540054

// Share is the 95 % interval of a share, k of n, after Wilson: it holds also
// for none, for all and for few. Of none it is 0 to 1.
// Source: Newcombe 1998, Stat Med 17:857, method 3.
func Share(k, n int) (low, high float64) {
	if n == 0 {
		return 0, 1
	}
	const zz = Normal95 * Normal95
	p, m := float64(k)/float64(n), float64(n)
	mid := (p + zz/(2*m)) / (1 + zz/m)
	half := Normal95 / (1 + zz/m) * math.Sqrt(p*(1-p)/m+zz/(4*m*m))
	low, high = math.Max(0, mid-half), math.Min(1, mid+half)
	if k == 0 {
		low = 0
	}
	if k == n {
		high = 1
	}
	return low, high
}
