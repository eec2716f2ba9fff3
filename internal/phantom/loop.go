package phantom

import (
	"context"
	"math"

	"crownassay/internal/par"
)

// loop is a smooth function of the azimuth, held as values at even steps from
// 0 on and joined by cubics with the chords' slopes (Catmull and Rom 1974, from
// memory). It is the formula of what it holds: the truth reads the same loop.
type loop []float64

// loopSteps is how many values a loop has: a quarter of a degree apart, 0.02 mm
// on a molar's margin.
const loopSteps = 1440

// at returns the value at azimuth a.
func (l loop) at(a float64) float64 {
	n := len(l)
	x := a / (2 * math.Pi)
	x = (x - math.Floor(x)) * float64(n)
	i := int(x)
	t := x - float64(i)
	p, q, r, s := l[(i+n-1)%n], l[i%n], l[(i+1)%n], l[(i+2)%n]
	m0, m1 := (r-p)/2, (s-q)/2
	d := r - q
	return q + t*(m0+t*(3*d-2*m0-m1+t*(m0+m1-2*d)))
}

// newLoops fills k loops from one function of the azimuth.
func newLoops(ctx context.Context, k int, f func(a float64) []float64) ([]loop, error) {
	out := make([]loop, k)
	for i := range out {
		out[i] = make(loop, loopSteps)
	}
	err := par.Do(ctx, loopSteps, 16, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			for j, v := range f(2 * math.Pi * float64(i) / loopSteps) {
				out[j][i] = v
			}
		}
	})
	return out, err
}
