package settings

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// truth is how contacts are felt in an invented practice: a logistic scale of
// tightness with the cuts between the levels.
type truth struct {
	cuts   [3]float64 // mm of tightness at which half of the contacts are over
	scale  float64    // of the logistic scatter, mm
	distal float64    // felt tighter by, mm
	upper  float64
	lots   map[string]float64 // felt tighter by, mm
}

var usual = truth{cuts: [3]float64{-0.01, 0.005, 0.045}, scale: 0.008, distal: 0.006, upper: -0.004}

// felt draws how a contact is felt.
func (w truth) felt(rng *rand.Rand, c Contact) Level {
	u := rng.Float64()
	x := c.Tightness + half(c.Distal)*w.distal + half(c.Upper)*w.upper + w.lots[c.Tool] + w.lots[c.Block] + w.scale*math.Log(u/(1-u))
	k := Open
	for k < Heavy && x > w.cuts[k] {
		k++
	}
	return k
}

// invent makes contacts about the designs that a practice tries.
func (w truth) invent(rng *rand.Rand, n int, mean, sd float64) []Contact {
	day := time.Date(2024, 1, 8, 0, 0, 0, 0, time.UTC)
	var out []Contact
	for i := range n {
		c := Contact{Tightness: mean + sd*rng.NormFloat64(), Distal: i%2 == 1, Upper: rng.IntN(2) == 1, Material: []string{"a", "b"}[rng.IntN(2)],
			Tool: fmt.Sprint("T", i/40), Block: fmt.Sprint("B", i/25), Date: day.Add(time.Duration(i) * 36 * time.Hour)}
		c.Felt = w.felt(rng, c)
		out = append(out, c)
	}
	return out
}

// best is the design with the lowest expected loss, from the truth itself.
func (w truth) best(loss Losses) float64 {
	best, least := 0.0, math.Inf(1)
	for x := -0.1; x < 0.15; x += 0.0005 {
		sum, below := 0.0, 0.0
		for k, c := range w.cuts {
			b := logistic((c - x) / w.scale)
			sum += (b - below) * loss[k]
			below = b
		}
		if sum += (1 - below) * loss[Heavy]; sum < least {
			best, least = x, sum
		}
	}
	return best
}

// TestBestIsFound: over invented practices the interval of the best design
// holds the true one about as often as it says, and is of use.
func TestBestIsFound(t *testing.T) {
	want := usual.best(DefaultLosses)
	held, all, width := 0, 24, 0.0
	if testing.Short() {
		all = 4
	}
	for n := range all {
		rng := rand.New(rand.NewPCG(uint64(n), 8))
		m, err := Fit(context.Background(), usual.invent(rng, 250, 0.02, 0.02), true, 1)
		if err != nil {
			t.Fatal(err)
		}
		a := m.Advise(Where{}, DefaultLosses)
		if len(a.Not) > 0 || a.Edge {
			t.Errorf("practice %d: no advice from 250 contacts: %v, at the edge: %v", n, a.Not, a.Edge)
		}
		width += (a.High - a.Low) / float64(all)
		if a.Low <= want+gridStep/2 && want-gridStep/2 <= a.High {
			held++
		}
	}
	t.Logf("true best %.4f mm held by %d of %d intervals, %.4f mm wide on average", want, held, all, width)
	if (distuv.Binomial{N: float64(all), P: 0.95}).CDF(float64(held)) < 0.005 {
		t.Errorf("the true best design is held by %d of %d intervals", held, all)
	}
	if width > 0.025 {
		t.Errorf("intervals are %.4f mm wide: of no use", width)
	}
}

// TestNotEnough: few contacts, one design, one feeling or no connection are
// said, and no advice is given.
func TestNotEnough(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	flat := usual.invent(rng, 200, 0.02, 0.02)
	for i := range flat {
		flat[i].Felt = Level(rng.IntN(4))
	}
	alike := usual.invent(rng, 60, 0.02, 0.02)
	for i := range alike {
		alike[i].Felt = Right
	}
	for name, c := range map[string]struct {
		contacts []Contact
		why      Reason
	}{
		"few": {usual.invent(rng, 12, 0.02, 0.02), FewContacts}, "one design": {usual.invent(rng, 100, 0.02, 0.0005), OneDesign},
		"one feeling": {alike, OneLevel}, "no connection": {flat, NoSlope},
	} {
		m, err := Fit(context.Background(), c.contacts, true, 1)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if a := m.Advise(Where{}, DefaultLosses); !slices.Contains(a.Not, c.why) {
			t.Errorf("%s: reasons %v, want %s", name, a.Not, c.why)
		}
	}
	if _, err := Fit(context.Background(), nil, true, 1); err == nil {
		t.Error("a model of no contact")
	}
	if _, err := Fit(context.Background(), []Contact{{Tightness: 20}}, true, 1); err == nil {
		t.Error("a tightness of 20 mm is taken")
	}
}

// TestPosteriorByQuadrature: with a cut and a slope alone, the draws agree with
// the posterior integrated on a grid.
func TestPosteriorByQuadrature(t *testing.T) {
	f := &posterior{odds: odds{Levels: 2, Columns: 1}, CutSD: 5, SlopeSD: []float64{2}}
	for i := range 12 {
		f.X = append(f.X, []figure{{0, float64(i)/4 - 1.4}})
		f.Y = append(f.Y, map[bool]int{true: 1, false: 0}[i > 5 || i == 3])
	}
	top, err := maximize(f, f.start())
	if err != nil {
		t.Fatal(err)
	}
	var sum, a, b, aa, bb float64
	for x := -12.0; x <= 12; x += 0.05 {
		for y := -6.0; y <= 12; y += 0.05 {
			w := math.Exp(f.at([]float64{x, y}, nil, nil) - top.Log)
			sum, a, b, aa, bb = sum+w, a+w*x, b+w*y, aa+w*x*x, bb+w*y*y
		}
	}
	draws, err := sample(context.Background(), f, top, 7)
	if err != nil {
		t.Fatal(err)
	}
	for j, want := range [][2]float64{{a / sum, math.Sqrt(aa/sum - a*a/sum/sum)}, {b / sum, math.Sqrt(bb/sum - b*b/sum/sum)}} {
		var v []float64
		for _, d := range draws {
			v = append(v, d[j])
		}
		mean, sd := stat.MeanStdDev(v, nil)
		if math.Abs(mean-want[0]) > 0.1*want[1] || math.Abs(sd/want[1]-1) > 0.08 {
			t.Errorf("parameter %d: %.4f (%.4f) drawn, %.4f (%.4f) integrated", j, mean, sd, want[0], want[1])
		}
	}
}

// TestSimulationBasedCalibration: with the truth drawn from the priors, its
// rank among the draws is uniform for every parameter.
// Source: Talts et al. 2018, arXiv 1804.06788.
func TestSimulationBasedCalibration(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes many fits")
	}
	const runs, bins = 120, 6
	rng := rand.New(rand.NewPCG(9, 9))
	counts := make([][bins]int, 5)
	for run := range runs {
		f := &posterior{odds: odds{Levels: 4, Columns: 2}, CutSD: 2, Width: 1, SlopeSD: []float64{1, 1}}
		p := []float64{2 * rng.NormFloat64(), 0, 0, rng.NormFloat64(), rng.NormFloat64()}
		for k := 1; k < 3; k++ {
			p[k] = p[k-1] + rng.ExpFloat64() + rng.ExpFloat64() // gamma of shape 2
		}
		for range 40 {
			x := []figure{{0, rng.NormFloat64()}, {1, float64(rng.IntN(2)) - 0.5}}
			u, y := rng.Float64(), 0
			eta := x[0].Value*p[3] + x[1].Value*p[4] + math.Log(u/(1-u))
			for y < 3 && eta > p[y] {
				y++
			}
			f.X, f.Y = append(f.X, x), append(f.Y, y)
		}
		top, err := maximize(f, f.start())
		if err != nil {
			t.Fatal(err)
		}
		draws, err := sample(context.Background(), f, top, uint64(run))
		if err != nil {
			t.Fatalf("run %d: %v", run, err)
		}
		for j := range p {
			below := 0
			for _, d := range draws {
				if d[j] < p[j] {
					below++
				}
			}
			counts[j][min(bins*below/len(draws), bins-1)]++
		}
	}
	for j, c := range counts {
		chi := 0.0
		for _, n := range c {
			chi += math.Pow(float64(n)-runs/bins, 2) / (runs / bins)
		}
		if p := (distuv.ChiSquared{K: bins - 1}).Survival(chi); p < 0.001 {
			t.Errorf("parameter %d: ranks %v are not uniform (p %.5f)", j, c, p)
		}
	}
}

// TestSameDraws: the same contacts and seed give the same draws.
func TestSameDraws(t *testing.T) {
	c := usual.invent(rand.New(rand.NewPCG(1, 1)), 60, 0.02, 0.02)
	a, err1 := Fit(context.Background(), c, true, 3)
	b, err2 := Fit(context.Background(), c, true, 3)
	if err1 != nil || err2 != nil || !slices.EqualFunc(a.draws, b.draws, slices.Equal[[]float64]) {
		t.Errorf("two fits of the same differ (%v, %v)", err1, err2)
	}
}
