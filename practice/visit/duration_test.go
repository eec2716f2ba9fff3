package visit

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// TestStated: the predictive distribution before any visit has the median and
// the 90 % quantile that the plan states.
func TestStated(t *testing.T) {
	m := Minutes{Median: 12, NineOfTen: 31, Longest: 120}
	l := stated(m).next()
	for p, want := range map[float64]float64{0.5: 12, 0.9: 31} {
		if got := math.Exp(l.Quantile(p)); math.Abs(got-want) > 1e-6 {
			t.Errorf("quantile %g = %g, want %g", p, got, want)
		}
	}
}

// TestPosterior holds the conjugate formulae to Bayes' rule as it stands: prior
// times likelihood, with gonum's densities, summed over a fine grid of mean
// and variance.
func TestPosterior(t *testing.T) {
	prior := belief{m: 2.3, k: 1, a: 2, b: 0.4}
	ys := []float64{2.1, 2.6, 2.9, 2.2, 2.7}
	next := prior.after(ys).next()
	at := []float64{1.5, 2, 2.4, 2.8, 3.6}
	got := make([]float64, len(at))
	total := 0.0
	const n = 1200
	for i := range n { // the variance by its logarithm, from 0.002 to 20
		v := math.Exp(math.Log(0.002) + (float64(i)+0.5)/n*math.Log(1e4))
		sd := math.Sqrt(v)
		wv := v * distuv.InverseGamma{Alpha: prior.a, Beta: prior.b}.Prob(v)
		for j := range n { // the mean from -2 to 7
			mu := -2 + 9*(float64(j)+0.5)/n
			w := math.Log(wv) + distuv.Normal{Mu: prior.m, Sigma: sd / math.Sqrt(prior.k)}.LogProb(mu)
			for _, y := range ys {
				w += -math.Log(sd) - (y-mu)*(y-mu)/(2*v)
			}
			w = math.Exp(w)
			total += w
			for k, y := range at {
				got[k] += w * distuv.Normal{Mu: mu, Sigma: sd}.Prob(y)
			}
		}
	}
	for k, y := range at {
		if want := got[k] / total; math.Abs(next.Prob(y)-want) > 2e-4*want+1e-6 {
			t.Errorf("density at %g = %.6f, by Bayes' rule %.6f", y, next.Prob(y), want)
		}
	}
}

// TestCutOff: quantile and share undo one another, nothing lasts longer than
// the longest, and the table is as good as it says.
func TestCutOff(t *testing.T) {
	l := newLogT(distuv.StudentsT{Mu: 2.5, Sigma: 0.6, Nu: 4}, 90)
	tab := newTabled(l)
	r := rand.New(rand.NewPCG(1, 2))
	for range 20_000 {
		p := r.Float64()
		q := l.Quantile(p)
		if back := l.CDF(q); math.Abs(back-p) > 1e-6 || q > 90.001 {
			t.Fatalf("quantile %g = %g, whose share is %g", p, q, back)
		}
		if got := tab.Quantile(p); math.Abs(got-q) > 1e-4*q {
			t.Fatalf("table at %g = %g, want %g", p, got, q)
		}
	}
}

// TestBeyond: an exponential duration does not age; one that is certain to be
// over by 90 minutes is.
func TestBeyond(t *testing.T) {
	e := distuv.Exponential{Rate: 0.1}
	for _, p := range []float64{0.01, 0.5, 0.9} {
		if got, want := newBeyond(e, 17).Quantile(p), e.Quantile(p); math.Abs(got-want) > 1e-9 {
			t.Errorf("left of an exponential at %g = %g, want %g", p, got, want)
		}
	}
	b := newBeyond(newLogT(distuv.StudentsT{Mu: 2.5, Sigma: 0.6, Nu: 4}, 90), 80)
	if got := b.Quantile(0.999); got > 10.001 {
		t.Errorf("left after 80 of at most 90 minutes = %g", got)
	}
}

// TestChance: beta and binomial (Gelman et al., Bayesian Data Analysis, 2.4,
// from memory): 437 girls of 980 births with a uniform prior have a posterior
// mean of 0.446 and a central 95 % interval of 0.415 to 0.477; here 90 %, by
// the normal approximation 0.446 +- 1.645 x 0.0159.
func TestChance(t *testing.T) {
	c := chance(Back{Chance: 0.5, Weight: 2}, 980, 437)
	if math.Abs(c.Mean-0.446) > 5e-4 || math.Abs(c.Low-0.420) > 1e-3 || math.Abs(c.High-0.472) > 1e-3 {
		t.Errorf("chance = %.4f, %.4f to %.4f", c.Mean, c.Low, c.High)
	}
}
