package measure

import "math"

// vec6 is a vector of six numbers; problems in space use the first three.
type vec6 [6]float64

func (a vec6) dot(b vec6) float64 {
	s := 0.0
	for i := range a {
		s += float64(a[i] * b[i])
	}
	return s
}

// plus returns a + t b.
func (a vec6) plus(t float64, b vec6) vec6 {
	for i := range a {
		a[i] += float64(t * b[i])
	}
	return a
}

// bound is the half space a . x >= b; a has about unit length.
type bound struct {
	a vec6
	b float64
}

// How nearly projections are solved.
const (
	boundSlack  = 1e-9  // mm: a bound that is missed by less holds; rounding of coordinates of some 10 mm
	boundRounds = 200   // bounds taken up at most: six hold at the end, each may come and go some times
	dependent   = 1e-12 // squared sine between a bound and those that hold, below which it brings nothing new
)

// nearestWithin returns the point of the intersection of half spaces that is
// nearest to x; ok is false where they have no point in common. It is the dual
// active set method of D. Goldfarb, A. Idnani, Math. Programming 27 (1983)
// 1-33, for the unit matrix: bounds are taken up one by one, the one missed
// most first, and let go again when their force would turn to a pull.
func nearestWithin(x vec6, bounds []bound) (vec6, bool) {
	h := holding{bounds: bounds, x: x}
	for range boundRounds {
		p := h.mostMissed()
		if p < 0 {
			return h.x, true
		}
		if !h.take(p) {
			return h.x, false
		}
	}
	return h.x, false
}

// holding is the state of the method: the bounds that hold with equality and
// their forces.
type holding struct {
	bounds []bound
	x      vec6
	active []int
	force  []float64
}

// mostMissed returns the bound that x misses by most, -1 where all hold.
func (h *holding) mostMissed() int {
	worst, at := -boundSlack, -1
	for i := range h.bounds {
		if s := h.bounds[i].a.dot(h.x) - h.bounds[i].b; s < worst {
			worst, at = s, i
		}
	}
	return at
}

// take makes bound p hold.
func (h *holding) take(p int) bool {
	a, up := h.bounds[p].a, 0.0
	for range boundRounds {
		r, z := h.split(a)
		drop, give := h.firstPull(r)
		full := math.Inf(1)
		if zz := z.dot(z); zz > dependent*a.dot(a) {
			full = (h.bounds[p].b - a.dot(h.x)) / zz
		}
		t := math.Min(give, full)
		if math.IsInf(t, 1) {
			return false
		}
		for i := range h.force {
			h.force[i] -= t * r[i]
		}
		up += t
		if !math.IsInf(full, 1) {
			h.x = h.x.plus(t, z)
		}
		if full <= give {
			h.active, h.force = append(h.active, p), append(h.force, up)
			return true
		}
		h.active = append(h.active[:drop], h.active[drop+1:]...)
		h.force = append(h.force[:drop], h.force[drop+1:]...)
	}
	return false
}

// firstPull returns the bound whose force is first used up and how far that is.
func (h *holding) firstPull(r vec6) (drop int, t float64) {
	t = math.Inf(1)
	for i, u := range h.force {
		if r[i] > 0 && u/r[i] < t {
			drop, t = i, u/r[i]
		}
	}
	return drop, t
}

// split writes a as the sum of r times the holding bounds and a rest z square
// to all of them.
func (h *holding) split(a vec6) (r, z vec6) {
	n := len(h.active)
	var m [6][7]float64
	for i, p := range h.active {
		for j, q := range h.active {
			m[i][j] = h.bounds[p].a.dot(h.bounds[q].a)
		}
		m[i][6] = h.bounds[p].a.dot(a)
	}
	r = solve(&m, n)
	z = a
	for i, p := range h.active {
		z = z.plus(-r[i], h.bounds[p].a)
	}
	return r, z
}

// solve solves n equations by elimination with row exchange; the right side
// is in column 6.
func solve(m *[6][7]float64, n int) vec6 {
	for k := range n {
		best := k
		for i := k + 1; i < n; i++ {
			if math.Abs(m[i][k]) > math.Abs(m[best][k]) {
				best = i
			}
		}
		m[k], m[best] = m[best], m[k]
		if m[k][k] == 0 {
			continue
		}
		for i := range n {
			if f := m[i][k] / m[k][k]; i != k && f != 0 {
				for j := k; j < 7; j++ {
					m[i][j] -= float64(f * m[k][j])
				}
			}
		}
	}
	var x vec6
	for k := range n {
		if m[k][k] != 0 {
			x[k] = m[k][6] / m[k][k]
		}
	}
	return x
}
