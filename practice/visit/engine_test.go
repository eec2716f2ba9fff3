package visit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// always is a duration that is certain.
type always float64

func (a always) Quantile(float64) float64 { return float64(a) }

// jobOf is a job of tasks.
func jobOf(key uint64, ready float64, tasks ...task) job {
	return job{key: key, ready: ready, tasks: tasks, force: -1, never: -1}
}

// lasting is a task of a law with what it is after.
func lasting(l quantiler, after ...int) task { return task{first: l, again: l, after: after} }

// chain is a job of tasks one after the other.
func chain(laws ...quantiler) job {
	j := jobOf(1, 0)
	for i, l := range laws {
		t := lasting(l)
		if i > 0 {
			t.after = []int{i - 1}
		}
		j.tasks = append(j.tasks, t)
	}
	return j
}

// finishes plays a model of one job n times.
func finishes(m *model, n int) []float64 {
	e := newEngine(m, 7)
	out := make([]float64, n)
	for d := range out {
		e.play(uint64(d))
		out[d] = e.jobs[0].finish
	}
	return out
}

// within fails when a mean of n values is further from what it should be than
// four of its standard errors.
func within(t *testing.T, what string, values []float64, want float64) {
	t.Helper()
	mean, sd := stat.MeanStdDev(values, nil)
	if se := sd / math.Sqrt(float64(len(values))); math.Abs(mean-want) > 4*se {
		t.Errorf("%s = %.4f, want %.4f within 4 x %.4f", what, mean, want, se)
	}
}

// TestSumOfNormals: means and variances of independent durations add up.
func TestSumOfNormals(t *testing.T) {
	const n = 40_000
	m := &model{jobs: []job{chain(distuv.Normal{Mu: 20, Sigma: 2}, distuv.Normal{Mu: 35, Sigma: 3}, distuv.Normal{Mu: 12, Sigma: 1}, distuv.Normal{Mu: 30, Sigma: 4})}}
	got := finishes(m, n)
	within(t, "mean", got, 97)
	if v, want := stat.Variance(got, nil), 4.0+9+1+16; math.Abs(v-want) > 4*want*math.Sqrt(2.0/n) {
		t.Errorf("variance = %.3f, want %.1f", v, want)
	}
	slices.Sort(got)
	if q, want := quantile(got, 0.9), (distuv.Normal{Mu: 97, Sigma: math.Sqrt(30)}).Quantile(0.9); math.Abs(q-want) > 0.15 {
		t.Errorf("90 %% quantile = %.2f, want %.2f", q, want)
	}
}

// TestSumOfExponentials: the sum of k exponential durations of one rate has
// the Erlang distribution, a gamma with shape k. The distance is that of
// Kolmogorov; 1.95/sqrt(n) is exceeded by chance once in a thousand.
func TestSumOfExponentials(t *testing.T) {
	const n, k, rate = 20_000, 5, 0.1
	exp := distuv.Exponential{Rate: rate}
	got := finishes(&model{jobs: []job{chain(exp, exp, exp, exp, exp)}}, n)
	slices.Sort(got)
	g := distuv.Gamma{Alpha: k, Beta: rate}
	far := 0.0
	for i, x := range got {
		far = max(far, math.Abs(g.CDF(x)-float64(i)/n), math.Abs(g.CDF(x)-float64(i+1)/n))
	}
	if far > 1.95/math.Sqrt(n) {
		t.Errorf("distance from the Erlang distribution = %.4f", far)
	}
}

// TestLastOfParallel: the last of k exponential durations of rate 1 ends after
// 1 + 1/2 + ... + 1/k on average (Feller, An Introduction to Probability Theory
// II, I.6, from memory).
func TestLastOfParallel(t *testing.T) {
	for _, k := range []int{1, 2, 6} {
		j, want := jobOf(1, 0), 0.0
		for i := range k {
			j.tasks = append(j.tasks, lasting(distuv.Exponential{Rate: 1}))
			want += 1 / float64(i+1)
		}
		within(t, fmt.Sprintf("last of %d", k), finishes(&model{jobs: []job{j}}, 20_000), want)
	}
}

// TestBridge is the bridge, the smallest network of activities that is neither
// in series nor parallel: 0 and 1 begin it, 2 and 3 are after 0, 4 is after 1
// and 2, and it is over with 3 and 4. With exponential durations it is a Markov
// chain whose states say what is done (Kulkarni and Adlakha, Markov and
// Markov-regenerative PERT networks, Operations Research 34 (1986) 769-781, from
// memory), and the mean follows state by state.
func TestBridge(t *testing.T) {
	rates := []float64{1, 0.5, 2, 0.4, 0.8}
	after := [][]int{nil, nil, {0}, {0}, {1, 2}}
	j := jobOf(1, 0)
	for i, r := range rates {
		j.tasks = append(j.tasks, lasting(distuv.Exponential{Rate: r}, after[i]...))
	}
	var left func(done [5]bool) float64
	left = func(done [5]bool) float64 {
		var total, sum float64
		for i, r := range rates {
			if !done[i] && !slices.ContainsFunc(after[i], func(a int) bool { return !done[a] }) {
				next := done
				next[i] = true
				total, sum = total+r, sum+r*left(next)
			}
		}
		if total == 0 {
			return 0
		}
		return (1 + sum) / total
	}
	within(t, "length of the bridge", finishes(&model{jobs: []job{j}}, 40_000), left([5]bool{}))
}

// TestQueue: with one server, arrivals at rate lambda and service at rate mu,
// a customer waits rho/(mu - lambda) on average; with c servers Erlang's C over
// (c mu - lambda) (Gross and Harris, Fundamentals of Queueing Theory, chapter 2,
// from memory). Each run begins empty, so its first customers are not counted.
func TestQueue(t *testing.T) {
	for _, c := range []struct {
		servers int
		lambda  float64
		want    float64
	}{
		{1, 0.5, 0.5 / (1 - 0.5)},
		{1, 0.8, 0.8 / (1 - 0.8)},
		{2, 1.5, erlangC(2, 1.5) / (2 - 1.5)},
		{3, 2.1, erlangC(3, 2.1) / (3 - 2.1)},
	} {
		const runs, customers, first = 150, 2000, 500
		means := make([]float64, runs)
		for r := range means {
			means[r] = meanWait(uint64(r), c.servers, customers, first, c.lambda)
		}
		within(t, fmt.Sprintf("wait with %d servers at rate %g", c.servers, c.lambda), means, c.want)
		if _, sd := stat.MeanStdDev(means, nil); sd/math.Sqrt(runs) > 0.03*c.want {
			t.Errorf("%d servers: the mean wait is known to %.3f of %.3f only", c.servers, sd/math.Sqrt(runs), c.want)
		}
	}
}

func meanWait(seed uint64, servers, customers, first int, lambda float64) float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	m := &model{pools: []int{servers}}
	at := 0.0
	for i := range customers {
		at += r.ExpFloat64() / lambda
		k := lasting(distuv.Exponential{Rate: 1})
		k.pools = []int{0}
		m.jobs = append(m.jobs, jobOf(uint64(i), at, k))
	}
	e := newEngine(m, seed)
	e.play(0)
	sum := 0.0
	for _, w := range e.waits {
		if w.job >= first {
			sum += w.minutes
		}
	}
	return sum / float64(customers-first)
}

// erlangC is the probability of having to wait with c servers and the load a.
func erlangC(c int, a float64) float64 {
	sum, term := 0.0, 1.0
	for k := range c {
		sum += term
		term *= a / float64(k+1)
	}
	term *= float64(c) / (float64(c) - a)
	return term / (sum + term)
}

// TestPriority: two visits reach the mill together; the one that began first
// has it, the other waits until it is free, and its chair waits with it.
func TestPriority(t *testing.T) {
	visit := func(key uint64, ready float64, chair int) job {
		a, b := lasting(always(10)), lasting(always(25), 0)
		a.seat, b.seat, b.pools = true, true, []int{0}
		j := jobOf(key, ready, a, b)
		j.chair = chair
		return j
	}
	m := &model{pools: []int{1, 1, 1}, jobs: []job{visit(1, 0, 1), visit(2, 5, 2), visit(3, 1, 1)}}
	e := newEngine(m, 1)
	e.play(0)
	// the first mills from 10 to 35, the second from 35 to 60; the third sits
	// down when the first leaves at 35, is at the mill at 45 and has it from 60
	for i, want := range []float64{35, 60, 85} {
		if got := e.jobs[i].finish; got != want {
			t.Errorf("visit %d is ready at %g, want %g", i+1, got, want)
		}
	}
	want := []wait{{1, 1, 0, 0, 20}, {2, 0, 1, 0, 34}, {2, 1, 0, 1, 15}}
	if !slices.Equal(e.waits, want) {
		t.Errorf("waits = %v, want %v", e.waits, want)
	}
}

// TestGoingBack: how often in a row a visit goes back is beta-binomial: k times
// and more with a (a+1) ... over (a+b) (a+b+1) ...
func TestGoingBack(t *testing.T) {
	j := chain(always(1), always(10), always(100))
	j.goings = []going{{at: 1, undone: []int{1, 2}, a: 2, b: 3}}
	const n = 40_000
	var atLeast [3]float64
	for _, f := range finishes(&model{jobs: []job{j}}, n) {
		times := int(math.Round((f - 111) / 10))
		for k := range atLeast {
			if times > k {
				atLeast[k] += 1.0 / n
			}
		}
	}
	want := 1.0
	for k, got := range atLeast {
		want *= (2 + float64(k)) / (5 + float64(k))
		if math.Abs(got-want) > 4*math.Sqrt(want*(1-want)/n) {
			t.Errorf("went back more than %d times in %.4f, want %.4f", k, got, want)
		}
	}
}

// TestUniform: the numbers are even in every argument (chi-squared with 99
// degrees of freedom, exceeded by chance once in a thousand).
func TestUniform(t *testing.T) {
	for arg := range 4 {
		var count [100]float64
		for i := range 100_000 {
			a := [4]uint64{3, 1, 4, 1}
			a[arg] = uint64(i)
			count[int(100*uniform(5, a[0], a[1], a[2], a[3]))]++
		}
		chi := 0.0
		for _, c := range count {
			chi += (c - 1000) * (c - 1000) / 1000
		}
		if limit := (distuv.ChiSquared{K: 99}).Quantile(0.999); chi > limit {
			t.Errorf("argument %d: chi-squared %.1f, more than %.1f", arg, chi, limit)
		}
	}
}
