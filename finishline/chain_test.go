package finishline

import (
	"math"
	"math/rand/v2"
	"testing"
)

// randomCands makes a few candidates at each of n azimuths, at some none.
func randomCands(rng *rand.Rand, n int) [][]candidate {
	out := make([][]candidate, n)
	for k := range out {
		for range rng.IntN(4) {
			p := point{3 + 2*rng.Float64(), rng.Float64()}
			out[k] = append(out[k], candidate{p: p, cost: 1.4 * rng.Float64()})
		}
	}
	return out
}

// priced is the cost of one closed choice, straight from the definition: each
// candidate's own cost, each skipped azimuth, each step, once around. Steps
// over more than widestGap are not allowed.
func priced(cands [][]candidate, pick []int, step float64) float64 {
	n, sum := len(pick), 0.0
	var on []int
	for k, c := range pick {
		if c >= 0 {
			on = append(on, k)
			sum += cands[k][c].cost
		}
	}
	if len(on) == 0 {
		return math.Inf(1)
	}
	for i, k := range on {
		next := on[(i+1)%len(on)]
		g := (next - k + n) % n
		if g == 0 {
			g = n
		}
		if g > int(widestGap/step) {
			return math.Inf(1)
		}
		sum += skipCost*float64(g-1) + shiftCost(cands[k][pick[k]].p, cands[next][pick[next]].p, float64(g)*step)
	}
	return sum
}

// exhaustive is the slow twin of chainFrom: all choices through the given
// candidate.
func exhaustive(cands [][]candidate, step float64, a0, c0 int) float64 {
	pick := make([]int, len(cands))
	best := math.Inf(1)
	var try func(k int)
	try = func(k int) {
		if k == len(cands) {
			best = math.Min(best, priced(cands, pick, step))
			return
		}
		if k == a0 {
			pick[k] = c0
			try(k + 1)
			return
		}
		for c := -1; c < len(cands[k]); c++ {
			pick[k] = c
			try(k + 1)
		}
	}
	try(0)
	return best
}

// TestChainFrom: the dynamic programme finds what trying all choices finds.
func TestChainFrom(t *testing.T) {
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 1))
		n := 4 + rng.IntN(4)
		step := 360 / float64(n)
		if seed%2 == 0 {
			step = 10 // no gap is too wide
		}
		cands := randomCands(rng, n)
		for a := range cands {
			for c := range cands[a] {
				pick, got := chainFrom(cands, step, a, c)
				want := exhaustive(cands, step, a, c)
				if !(math.Abs(got-want) <= 1e-9) && !(math.IsInf(got, 1) && math.IsInf(want, 1)) {
					t.Fatalf("seed %d: chainFrom(%d, %d) costs %.6f, want %.6f", seed, a, c, got, want)
				}
				if p := priced(cands, pick, step); !math.IsInf(want, 1) && math.Abs(p-want) > 1e-9 {
					t.Fatalf("seed %d: the picks of chainFrom(%d, %d) cost %.6f, want %.6f", seed, a, c, p, want)
				}
			}
		}
	}
}

// TestChain: the best of the starts, an azimuth; never below the best of all
// choices, and equal to it when some start lies on it, which over six starts
// is nearly always.
func TestChain(t *testing.T) {
	missed, closed := 0, 0
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 2))
		cands := randomCands(rng, 7)
		best := math.Inf(1)
		for a := range cands {
			for c := range cands[a] {
				best = math.Min(best, exhaustive(cands, 10, a, c))
			}
		}
		_, got := chain(cands, 10)
		got *= float64(len(cands))
		if math.IsInf(best, 1) {
			continue
		}
		closed++
		if got < best-1e-9 {
			t.Fatalf("seed %d: chain costs %.6f, less than the least %.6f", seed, got, best)
		}
		if got > best+1e-9 {
			missed++
		}
	}
	if closed < 50 || missed > closed/20 {
		t.Errorf("chain missed the best curve in %d of %d", missed, closed)
	}
}

// TestChainAcrossGap: nothing is bridged beyond widestGap.
func TestChainAcrossGap(t *testing.T) {
	ring := func(gap int) [][]candidate {
		c := make([][]candidate, 360)
		for k := gap; k < 360; k++ {
			c[k] = []candidate{{p: point{4, 0}}}
		}
		return c
	}
	pick, cost := chain(ring(60), 1)
	if pick[0] != -1 || pick[60] != 0 || math.Abs(cost-skipCost*60/360) > 1e-9 {
		t.Errorf("gap of 60: cost %v, want %v", cost, skipCost*60/360)
	}
	if _, cost := chain(ring(int(widestGap)+1), 1); !math.IsInf(cost, 1) {
		t.Errorf("gap of %v was bridged at %v", widestGap+1, cost)
	}
	if pick, _ := chain(make([][]candidate, 360), 1); pick != nil {
		t.Error("a curve was made of nothing")
	}
}
