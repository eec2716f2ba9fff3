package settings

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// posterior is the likelihood times weakly informative priors: normal ones for
// the first cut and the slopes, and for the width of each level between two
// cuts a gamma density of shape 2, which keeps the cuts apart where a level was
// never seen. It is log-concave, so it has one top.
type posterior struct {
	odds
	CutSD   float64   // of the first cut, logits
	Width   float64   // scale of the widths of the inner levels, logits
	SlopeSD []float64 // of each slope
}

// at returns the log density, but for a constant, and adds its derivatives.
func (f *posterior) at(p, grad []float64, hess *mat.SymDense) float64 {
	sum := f.odds.at(p, grad, hess)
	if math.IsInf(sum, -1) {
		return sum
	}
	normal := func(i int, sd float64) {
		sum -= p[i] * p[i] / (2 * sd * sd)
		if grad != nil {
			grad[i] -= p[i] / (sd * sd)
		}
		if hess != nil {
			hess.SetSym(i, i, hess.At(i, i)-1/(sd*sd))
		}
	}
	normal(0, f.CutSD)
	for j, sd := range f.SlopeSD {
		normal(f.Levels-1+j, sd)
	}
	for k := 1; k < f.Levels-1; k++ {
		w := p[k] - p[k-1]
		sum += math.Log(w) - w/f.Width
		if grad != nil {
			d := 1/w - 1/f.Width
			grad[k], grad[k-1] = grad[k]+d, grad[k-1]-d
		}
		if hess != nil {
			c := -1 / (w * w)
			hess.SetSym(k, k, hess.At(k, k)+c)
			hess.SetSym(k-1, k-1, hess.At(k-1, k-1)+c)
			hess.SetSym(k-1, k, hess.At(k-1, k)-c)
		}
	}
	return sum
}
