package settings

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// figure is one figure of an observation; those that are not there are zero.
type figure struct {
	Column int
	Value  float64
}

// odds is the likelihood of a proportional-odds model: of observations with
// the levels Y, 0 to Levels-1, and figures in Columns columns, each counted
// Weight times, logit P(Y <= k) = cut[k] - sum of figure times slope.
// Source: McCullagh 1980, J R Stat Soc B 42:109. It is log-concave (Pratt 1981,
// J Am Stat Assoc 76:103).
type odds struct {
	Levels  int
	Columns int
	Y       []int
	X       [][]figure
	Weight  []float64 // nil: 1 each
}

// wide is the number of parameters: the cuts, then the slopes.
func (o *odds) wide() int { return o.Levels - 1 + o.Columns }

// weight is how often an observation counts.
func (o *odds) weight(i int) float64 {
	if o.Weight == nil {
		return 1
	}
	return o.Weight[i]
}

// eta is the sum of an observation's figures times the slopes.
func (o *odds) eta(i int, p []float64) float64 {
	sum := 0.0
	for _, f := range o.X[i] {
		sum += f.Value * p[o.Levels-1+f.Column]
	}
	return sum
}

// at returns the log likelihood at p, cuts first, and adds its gradient and its
// Hessian where they are given. Cuts that are not in order have likelihood 0.
func (o *odds) at(p, grad []float64, hess *mat.SymDense) float64 {
	cuts := o.Levels - 1
	for k := 1; k < cuts; k++ {
		if p[k] <= p[k-1] {
			return math.Inf(-1)
		}
	}
	sum := 0.0
	for i, y := range o.Y {
		eta := o.eta(i, p)
		u, l := math.Inf(1), math.Inf(-1)
		if y < cuts {
			u = p[y] - eta
		}
		if y > 0 {
			l = p[y-1] - eta
		}
		w, t := o.weight(i), between(l, u)
		sum += w * t.log
		if grad != nil {
			o.slope(i, w, t, grad)
		}
		if hess != nil {
			o.bend(i, w, t, hess)
		}
	}
	return sum
}

// slope adds an observation's part of the gradient.
func (o *odds) slope(i int, w float64, t term, grad []float64) {
	if y := o.Y[i]; y < o.Levels-1 {
		grad[y] += w * t.du
	}
	if y := o.Y[i]; y > 0 {
		grad[y-1] += w * t.dl
	}
	for _, f := range o.X[i] {
		grad[o.Levels-1+f.Column] -= w * (t.dl + t.du) * f.Value
	}
}

// bend adds an observation's part of the Hessian.
func (o *odds) bend(i int, w float64, t term, hess *mat.SymDense) {
	add := func(r, c int, v float64) { hess.SetSym(r, c, hess.At(r, c)+w*v) }
	cuts, y := o.Levels-1, o.Y[i]
	if y < cuts {
		add(y, y, t.duu)
	}
	if y > 0 {
		add(y-1, y-1, t.dll)
	}
	if y > 0 && y < cuts {
		add(y-1, y, t.dlu)
	}
	for a, f := range o.X[i] {
		c := cuts + f.Column
		if y < cuts {
			add(y, c, -(t.duu+t.dlu)*f.Value)
		}
		if y > 0 {
			add(y-1, c, -(t.dll+t.dlu)*f.Value)
		}
		for _, g := range o.X[i][a:] {
			v := (t.dll + 2*t.dlu + t.duu) * f.Value * g.Value
			add(c, cuts+g.Column, v)
		}
	}
}

// term is the log probability between two borders on the logistic scale and
// its derivatives by them.
type term struct{ log, dl, du, dll, dlu, duu float64 }

// between works a term out. With F the logistic function, log(F(u) - F(l)) is
// log F(u) + log(1 - F(l)) + log(1 - exp(l - u)), which loses no digits far out.
func between(l, u float64) term {
	fu, fl := logistic(u), logistic(l)
	t := term{log: -softplus(-u) - softplus(l)}
	t.du, t.dl = 1-fu, -fl
	t.duu, t.dll = -fu*(1-fu), -fl*(1-fl)
	if !math.IsInf(u, 1) && !math.IsInf(l, -1) {
		e := math.Exp(l - u)
		g := e / -math.Expm1(l-u) // derivative of log(1 - exp(l - u)) by u
		t.log += math.Log(-math.Expm1(l - u))
		t.du, t.dl = t.du+g, t.dl-g
		h := g * (1 + g)
		t.duu, t.dll, t.dlu = t.duu-h, t.dll-h, h
	}
	return t
}

// logistic is 1/(1 + exp(-x)).
func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// softplus is log(1 + exp(x)).
func softplus(x float64) float64 {
	if x > 0 {
		return x + math.Log1p(math.Exp(-x))
	}
	return math.Log1p(math.Exp(x))
}
