package settings

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"

	"crownassay/internal/par"
)

// How the posterior is drawn from. In the coordinates that make the top's
// covariance the unit matrix the density is near the standard normal, for which
// a way of half pi between two draws makes them independent.
const (
	chains    = 4
	warmUp    = 100  // draws of each chain that are left out
	kept      = 300  // draws of each chain, at first
	tries     = 3    // each with twice the draws, before chains that do not agree are given up
	stepSize  = 0.25 // of the leapfrog
	leastWay  = 4    // steps between two draws, at least
	mostWay   = 10   // and at most; a random number of them, so that no way fits a period
	mostRatio = 1.02 // of the split R-hat, over which the chains do not agree (Vehtari et al. 2021 want 1.01 for final figures)
)

// sample draws from a log density by Hamiltonian Monte Carlo about its top. The
// same seed gives the same draws whatever the number of processors.
// Source: Neal 2011, Handbook of Markov Chain Monte Carlo, chapter 5.
func sample(ctx context.Context, f concave, t *top, seed uint64) ([][]float64, error) {
	var c mat.Cholesky
	if !c.Factorize(&t.Cov) {
		return nil, errNoTop
	}
	var l mat.TriDense
	c.LTo(&l)
	for try := range tries {
		all, err := walkAll(ctx, f, t, &l, seed, kept<<try)
		if err != nil {
			return nil, err
		}
		if agree(all, len(t.P)) {
			return slices.Concat(all...), nil
		}
	}
	return nil, errors.New("draw from the posterior: the chains do not agree")
}

// walkAll draws the chains side by side.
func walkAll(ctx context.Context, f concave, t *top, l *mat.TriDense, seed uint64, draws int) ([][][]float64, error) {
	all := make([][][]float64, chains)
	err := par.Do(ctx, chains, 1, func(from, to int) {
		for k := from; k < to; k++ {
			w := &walker{f: f, top: t, l: l, rng: rand.New(rand.NewPCG(seed, uint64(k)))}
			all[k] = w.walk(ctx, draws)
		}
	})
	return all, errors.Join(err, ctx.Err())
}

// agree reports whether the chains tell the same of every parameter.
func agree(all [][][]float64, parameters int) bool {
	for j := range parameters {
		if !(splitRatio(all, j) < mostRatio) {
			return false
		}
	}
	return true
}

// walker is one chain, in coordinates z with p = top + L z.
type walker struct {
	f   concave
	top *top
	l   *mat.TriDense
	rng *rand.Rand
}

// p are the parameters of z.
func (w *walker) p(z []float64) []float64 {
	v := mat.NewVecDense(len(z), nil)
	v.MulVec(w.l, mat.NewVecDense(len(z), z))
	for i := range z {
		v.SetVec(i, v.AtVec(i)+w.top.P[i])
	}
	return v.RawVector().Data
}

// at is the log density and its gradient by z.
func (w *walker) at(z []float64) (float64, []float64) {
	g := make([]float64, len(z))
	log := w.f.at(w.p(z), g, nil)
	v := mat.NewVecDense(len(z), nil)
	v.MulVec(w.l.T(), mat.NewVecDense(len(z), g))
	return log, v.RawVector().Data
}

// walk draws a chain. It begins away from the top, so that chains that agree
// have forgotten where they began.
func (w *walker) walk(ctx context.Context, draws int) [][]float64 {
	n := len(w.top.P)
	z := make([]float64, n)
	for i := range z {
		z[i] = w.rng.NormFloat64()
	}
	log, grad := w.at(z)
	for math.IsInf(log, -1) { // cuts out of order: nearer to the top
		for i := range z {
			z[i] /= 2
		}
		log, grad = w.at(z)
	}
	var out [][]float64
	for k := 0; k < warmUp+draws && ctx.Err() == nil; k++ {
		z, log, grad = w.next(z, log, grad)
		if k >= warmUp {
			out = append(out, w.p(z))
		}
	}
	return out
}

// next is one draw: leapfrog steps with a fresh momentum, taken or not.
func (w *walker) next(z []float64, log float64, grad []float64) ([]float64, float64, []float64) {
	n := len(z)
	q, m, g := append([]float64(nil), z...), make([]float64, n), grad
	before := log
	for i := range m {
		m[i] = w.rng.NormFloat64()
		before -= m[i] * m[i] / 2
	}
	after := log
	for range leastWay + w.rng.IntN(mostWay-leastWay+1) {
		for i := range q {
			m[i] += stepSize / 2 * g[i]
			q[i] += stepSize * m[i]
		}
		if after, g = w.at(q); math.IsInf(after, -1) {
			return z, log, grad // over an edge of the density
		}
		for i := range q {
			m[i] += stepSize / 2 * g[i]
		}
	}
	energy := after
	for i := range m {
		energy -= m[i] * m[i] / 2
	}
	if math.Log(w.rng.Float64()) < energy-before {
		return q, after, g
	}
	return z, log, grad
}

// splitRatio is the split R-hat of a parameter: how much wider all draws
// together are than the halves of each chain.
// Source: Gelman et al., Bayesian Data Analysis, 3rd edition, 11.4.
func splitRatio(all [][][]float64, j int) float64 {
	var means, vars []float64
	half := 0
	for _, c := range all {
		half = len(c) / 2
		for _, h := range [][][]float64{c[:half], c[half : 2*half]} {
			sum, sq := 0.0, 0.0
			for _, p := range h {
				sum += p[j]
			}
			mean := sum / float64(half)
			for _, p := range h {
				sq += (p[j] - mean) * (p[j] - mean)
			}
			means, vars = append(means, mean), append(vars, sq/float64(half-1))
		}
	}
	mean, within, among := 0.0, 0.0, 0.0
	for i := range means {
		mean += means[i] / float64(len(means))
		within += vars[i] / float64(len(vars))
	}
	for _, m := range means {
		among += (m - mean) * (m - mean) / float64(len(means)-1)
	}
	n := float64(half)
	return math.Sqrt(((n-1)/n*within + among) / within)
}
