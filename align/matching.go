package align

import (
	"context"
	"math"

	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/internal/par"
)

// target is the fixed surface.
type target struct {
	tree   *bvh.Tree
	weight []float64 // of its vertices; nil means 1
}

// agree is the cosine of the angle between two surfaces' normals up to which
// points may belong together: 45 degrees. Noise tilts facets of 0.06 mm by 15
// degrees; the two sides of a thin edge face apart by 90 and more.
const agree = 0.7

// matching pairs points with the nearest places of the fixed surface.
type matching struct {
	target
	pts    *points
	window float64 // mm: how far a partner may lie
	motion geom.Rigid

	moved  []geom.Vec // the points under the motion
	turned []geom.Vec // their normals
	hit    []bvh.SignedHit
	normal []geom.Vec // of the fixed surface at the partner
	r      []float64  // signed distance from the tangent plane at the partner, which the facet's curvature lifts, mm
	w      []float64  // weight; 0 without a partner
}

func newMatching(t target, pts *points) *matching {
	n := len(pts.p)
	return &matching{
		target: t, pts: pts,
		moved: make([]geom.Vec, n), turned: make([]geom.Vec, n), hit: make([]bvh.SignedHit, n),
		normal: make([]geom.Vec, n), r: make([]float64, n), w: make([]float64, n),
	}
}

// find pairs the points under a motion. No partner have points that lie past
// the border of the fixed surface, farther than the window, or on a side that
// faces elsewhere.
func (m *matching) find(ctx context.Context, g geom.Rigid, window float64) error {
	m.motion, m.window = g, window
	n := len(m.moved)
	err := par.Do(ctx, n, 0, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			m.moved[i] = g.Apply(m.pts.p[i])
		}
	})
	if err == nil {
		err = m.tree.SignedAll(ctx, m.moved, window, m.hit)
	}
	if err != nil {
		return err
	}
	return par.Do(ctx, n, 0, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			m.pair(i)
		}
	})
}

// pair judges the partner of point i.
func (m *matching) pair(i int) {
	m.w[i], m.r[i] = 0, 0
	h := &m.hit[i]
	m.turned[i] = m.motion.Turn(m.pts.n[i])
	if h.Facet < 0 || h.BeyondBorder {
		return
	}
	rise, n := curved(m.tree, h.Hit)
	if n.Dot(m.turned[i]) < agree {
		return
	}
	m.normal[i] = n
	m.r[i] = m.moved[i].Sub(h.Point).Dot(n) - rise
	m.w[i] = float64(m.pts.w[i] * facetWeight(m.weight, m.tree.Mesh().F[h.Facet]))
}

// paired lists the residuals of points that have a partner.
func (m *matching) paired() []float64 {
	var out []float64
	for i, w := range m.w {
		if w > 0 {
			out = append(out, m.r[i])
		}
	}
	return out
}

// within returns the area of the points that lie no farther than d, mm, from
// their partner's tangent plane.
func (m *matching) within(d float64) float64 {
	s := 0.0
	for i, w := range m.w {
		if w > 0 && math.Abs(m.r[i]) <= d {
			s += m.pts.area[i]
		}
	}
	return s
}

// follow moves the points by a small motion and keeps their partners.
func (m *matching) follow(v pivot, x vec6) {
	g := v.motion(x)
	m.motion = g.After(m.motion)
	for i, w := range m.w {
		if w > 0 {
			j := v.row(m.moved[i], m.normal[i])
			m.r[i] += j.dot(&x)
			m.moved[i] = g.Apply(m.moved[i])
			m.turned[i] = g.Turn(m.turned[i])
		}
	}
}

// equations sums the normal equations over the pairs, in chunks: each row is
// taken with the normal that use gives, its residual as x, a small motion from
// the one they were paired under, leaves it, and its weight for that.
func (m *matching) equations(v pivot, normals []geom.Vec, x *vec6, weight func(r float64) float64) normalEq {
	n := len(m.w)
	chunks := make([]normalEq, (n+par.Chunk-1)/par.Chunk)
	_ = par.Do(context.Background(), n, 0, func(lo, hi int) { // nothing stops it
		e := &chunks[lo/par.Chunk]
		for i := lo; i < hi; i++ {
			if m.w[i] <= 0 {
				continue
			}
			j := v.row(m.moved[i], normals[i])
			r := m.r[i] + j.dot(x)
			if w := weight(r); w > 0 {
				e.add(&j, r, float64(w*m.w[i]))
			}
		}
	})
	var sum normalEq
	for i := range chunks {
		sum.merge(&chunks[i])
	}
	return sum
}

func always(float64) float64 { return 1 }

// condition reads the condition from the points' own normals, which are
// smooth when the points are samples.
func (m *matching) condition(v pivot) (Condition, bool) {
	e := m.equations(v, m.turned, &vec6{}, always)
	return conditionOf(&e, v)
}

// pivot is that of the points with partners.
func (m *matching) pivot() pivot { return pivotOf(m.moved, m.w) }
