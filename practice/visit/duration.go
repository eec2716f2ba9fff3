package visit

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"
)

// Law is the distribution of a duration, minutes.
type Law interface {
	Quantile(p float64) float64
	CDF(minutes float64) float64
}

// belief is what is known of the mean and the variance of the logarithm of a
// duration: normal-inverse-gamma, conjugate to the normal distribution. The
// mean is normal about m with the variance over k, the variance is inverse
// gamma with shape a and scale b.
// Source: Gelman et al., Bayesian Data Analysis, 3rd ed., 3.3 (from memory);
// Murphy, Conjugate Bayesian analysis of the Gaussian distribution (2007),
// section 6 (from memory).
type belief struct{ m, k, a, b float64 }

// The weight of what the plan states.
const (
	priorVisits = 1 // visits that the stated median counts as
	priorShape  = 2 // shape of the variance: Student's t with 4 degrees of freedom, whose tail is heavy since the spread is a guess
)

// stated is the belief before own visits: its predictive distribution has the
// stated median and the stated 90 % quantile.
func stated(s Minutes) belief {
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: 2 * priorShape}.Quantile(0.9)
	scale := math.Log(s.NineOfTen/s.Median) / t
	k, a := float64(priorVisits), float64(priorShape)
	return belief{m: math.Log(s.Median), k: k, a: a, b: scale * scale * a * k / (k + 1)}
}

// after is the belief after values of the logarithm were seen.
func (b belief) after(ys []float64) belief {
	n := float64(len(ys))
	if n == 0 {
		return b
	}
	mean, ss := 0.0, 0.0
	for _, y := range ys {
		mean += y / n
	}
	for _, y := range ys {
		ss += (y - mean) * (y - mean)
	}
	k := b.k + n
	return belief{m: (b.k*b.m + n*mean) / k, k: k, a: b.a + n/2,
		b: b.b + ss/2 + b.k*n*(mean-b.m)*(mean-b.m)/(2*k)}
}

// next is the distribution of the logarithm of the next duration.
func (b belief) next() distuv.StudentsT {
	return distuv.StudentsT{Mu: b.m, Sigma: math.Sqrt(b.b * (b.k + 1) / (b.a * b.k)), Nu: 2 * b.a}
}

// logT is a duration whose logarithm has Student's t, cut off at the longest
// that counts as a duration of its stage.
type logT struct {
	t     distuv.StudentsT
	below float64 // probability of t up to the longest
}

func newLogT(t distuv.StudentsT, longest float64) logT { return logT{t, t.CDF(math.Log(longest))} }

// Quantile returns the minutes that a share p lasts no longer than.
func (l logT) Quantile(p float64) float64 { return math.Exp(l.t.Quantile(p * l.below)) }

// CDF is the share that lasts no longer.
func (l logT) CDF(minutes float64) float64 {
	if minutes <= 0 {
		return 0
	}
	return min(1, l.t.CDF(math.Log(minutes))/l.below)
}

// tabled is a logT with its quantiles from a table, since the engine asks for
// hundreds of thousands.
type tabled struct {
	logT
	z []float64
}

// The table of Student's t: its rows are even in the logarithm of the odds,
// p/(1-p), over which the quantile bends little, also in the tails. Between two
// rows it is interpolated; outside the distribution itself is asked.
const (
	tableSteps = 1024
	tableEnd   = 9.0 // logarithm of the odds on either side: 1 in 8,000
)

// tables are those that were made, by degrees of freedom: stages that were done
// as often share one.
var tables sync.Map

func tableOf(nu float64) []float64 {
	if z, ok := tables.Load(nu); ok {
		return z.([]float64)
	}
	z := make([]float64, tableSteps+1)
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}
	for i := range z {
		z[i] = t.Quantile(1 / (1 + math.Exp(tableEnd-2*tableEnd*float64(i)/tableSteps)))
	}
	tables.Store(nu, z)
	return z
}

func newTabled(l logT) *tabled { return &tabled{l, tableOf(l.t.Nu)} }

// Quantile is that of the law, to a part in 10,000.
func (t *tabled) Quantile(p float64) float64 {
	share := p * t.below
	x := (math.Log(share/(1-share)) + tableEnd) / (2 * tableEnd) * tableSteps
	if !(x >= 0 && x < tableSteps) {
		return t.logT.Quantile(p)
	}
	i := int(x)
	f := x - float64(i)
	return math.Exp(t.t.Mu + t.t.Sigma*(t.z[i]*(1-f)+t.z[i+1]*f))
}

// beyond is the law of what is left of a duration that has lasted a while.
type beyond struct {
	Law
	lasted, below float64
}

func newBeyond(l Law, lasted float64) beyond { return beyond{l, lasted, l.CDF(lasted)} }

// Quantile is how much longer it lasts.
func (b beyond) Quantile(p float64) float64 {
	return max(0, b.Law.Quantile(b.below+p*(1-b.below))-b.lasted)
}
