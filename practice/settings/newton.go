package settings

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// concave is the logarithm of a density with its derivatives, which at adds.
type concave interface {
	at(p, grad []float64, hess *mat.SymDense) float64
}

// top is the maximum of a log density and what lies around it.
type top struct {
	P   []float64
	Log float64
	Cov mat.SymDense // the inverse of minus the Hessian
}

// Bounds of the search by Newton's method.
const (
	mostSteps  = 100   // it takes under ten where there is a maximum
	nearEnough = 1e-10 // square of the last step in standard errors
	unbounded  = 1e3   // a standard error beyond that, in logits, is of no maximum
)

// evidence is the logarithm of what the density integrates to, but for a
// constant that its width alone makes, after Laplace.
func (t *top) evidence() float64 {
	var c mat.Cholesky
	c.Factorize(&t.Cov)
	return t.Log + c.LogDet()/2
}

var errNoTop = errors.New("find the maximum: there is none; the levels are told apart without a fault, or a figure never varies")

// maximize finds the maximum by Newton's method, halving steps that go down.
func maximize(f concave, p []float64) (*top, error) {
	for range mostSteps {
		grad, hess := make([]float64, len(p)), mat.NewSymDense(len(p), nil)
		log := f.at(p, grad, hess)
		hess.ScaleSym(-1, hess)
		var c mat.Cholesky
		step, g := mat.NewVecDense(len(p), nil), mat.NewVecDense(len(p), grad)
		if !c.Factorize(hess) || c.SolveVecTo(step, g) != nil {
			return nil, errNoTop
		}
		if mat.Dot(step, g) < nearEnough {
			t := &top{P: p, Log: log}
			if c.InverseTo(&t.Cov) != nil {
				return nil, errNoTop
			}
			for i := range p {
				if !(t.Cov.At(i, i) < unbounded*unbounded) {
					return nil, errNoTop
				}
			}
			return t, nil
		}
		p = climb(f, p, step.RawVector().Data, log)
	}
	return nil, errNoTop
}

// climb goes along a step as far as the density does not fall.
func climb(f concave, p, step []float64, log float64) []float64 {
	q := make([]float64, len(p))
	for s := 1.0; s > 1e-9; s /= 2 {
		for i := range p {
			q[i] = p[i] + s*step[i]
		}
		if v := f.at(q, nil, nil); v >= log && !math.IsNaN(v) {
			break
		}
	}
	return q
}

// start is where a search begins: no slope, the cuts at the shares seen.
func (o *odds) start() []float64 {
	p := make([]float64, o.wide())
	below, all := make([]float64, o.Levels), 0.0
	for i, y := range o.Y {
		all += o.weight(i)
		for k := y; k < o.Levels; k++ {
			below[k] += o.weight(i)
		}
	}
	for k := range o.Levels - 1 {
		s := (below[k] + 0.5*float64(k+1)) / (all + 0.5*float64(o.Levels)) // a little for each level, so that the cuts are in order
		p[k] = math.Log(s / (1 - s))
	}
	return p
}
