package visit

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// TestSlowTwin plays small random models of whole minutes with the engine and,
// minute by minute, with a twin that knows nothing but the rule: in the order of
// priority, whatever can begin begins.
func TestSlowTwin(t *testing.T) {
	for seed := range uint64(3000) {
		r := rand.New(rand.NewPCG(seed, 5))
		m := randomModel(r)
		e := newEngine(m, seed)
		e.play(0)
		want := minuteByMinute(m)
		for i := range m.jobs {
			for k := range m.jobs[i].tasks {
				if got := e.jobs[i].tasks[k].begin; got != want[i][k] {
					t.Fatalf("seed %d: job %d task %d begins at %g, want %g", seed, i, k, got, want[i][k])
				}
			}
		}
	}
}

// randomModel has two to four jobs with up to six tasks over chairs and three
// other pools.
func randomModel(r *rand.Rand) *model {
	m := &model{pools: []int{1, 1, 1, 1 + r.IntN(2), 1}}
	for i := range 2 + r.IntN(3) {
		j := jobOf(uint64(i), float64(r.IntN(12)), nil...)
		j.chair = r.IntN(2)
		for k := range 1 + r.IntN(6) {
			x := lasting(always(1 + r.IntN(9)))
			x.seat = r.IntN(3) > 0
			for p := 2; p < len(m.pools); p++ {
				if r.IntN(3) == 0 {
					x.pools = append(x.pools, p)
				}
			}
			for a := range k {
				if r.IntN(2) == 0 {
					x.after = append(x.after, a)
				}
			}
			j.tasks = append(j.tasks, x)
		}
		m.jobs = append(m.jobs, j)
	}
	return m
}

// minuteByMinute returns when each task begins.
func minuteByMinute(m *model) [][]float64 {
	begin := make([][]float64, len(m.jobs))
	for i, j := range m.jobs {
		begin[i] = make([]float64, len(j.tasks))
		for k := range begin[i] {
			begin[i][k] = -1
		}
	}
	seated := make([]bool, len(m.jobs))
	lasts := func(i, k int) float64 { return m.jobs[i].tasks[k].first.Quantile(0) }
	runs := func(i, k int, now float64) bool { return begin[i][k] >= 0 && now < begin[i][k]+lasts(i, k) }
	over := func(i, k int, now float64) bool { return begin[i][k] >= 0 && now >= begin[i][k]+lasts(i, k) }
	used := func(pool int, now float64) (n int) {
		for i, j := range m.jobs {
			if seated[i] && j.chair == pool {
				n++
			}
			for k, x := range j.tasks {
				if runs(i, k, now) && slices.Contains(x.pools, pool) {
					n++
				}
			}
		}
		return n
	}
	for now := 0.0; now < 400; now++ {
		for i, j := range m.jobs { // who has nothing left gets up
			done := true
			for k := range j.tasks {
				done = done && over(i, k, now)
			}
			seated[i] = seated[i] && !done
		}
	again:
		for i, j := range m.jobs {
			sat := seated[i]
			for k, x := range j.tasks {
				ready := begin[i][k] < 0 && now >= j.ready
				for _, a := range x.after {
					ready = ready && over(i, a, now)
				}
				for _, p := range x.pools {
					ready = ready && used(p, now) < m.pools[p]
				}
				if x.seat && !seated[i] {
					ready = ready && used(j.chair, now) < m.pools[j.chair]
				}
				if !ready {
					continue
				}
				begin[i][k] = now
				sits := x.seat
				for o, y := range j.tasks {
					sits = sits || y.seat && runs(i, o, now) && o != k
				}
				seated[i] = sits
			}
			if sat && !seated[i] { // another one may sit down
				goto again
			}
		}
	}
	return begin
}
