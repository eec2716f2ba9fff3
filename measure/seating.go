package measure

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/reading"
	"crownassay/unit"
)

// The way to the seat. Lengths mm.
const (
	seatingFrom  = 8.0   // the crown starts this far above its seat (definition)
	seatingReach = 1.5   // surfaces farther apart than this are stepped over by as much
	seatingStep  = 0.02  // least step along the way: a bump lower than half of it may pass unseen
	seatingMost  = 2000  // points followed on one surface at most, evenly spread: noise makes many
	seatingTell  = 0.005 // tighter on the way than at the seat by less is not told apart
)

// obstacle is something that a part of the crown's surface passes on its way.
type obstacle struct {
	name   string
	to     *Surface
	passer *Surface                   // the crown's cameo or intaglio
	keep   func(p geom.Vec) bool      // which of its points
	counts func(facet int32) bool     // which facets of the obstacle
	seat   func() (pass, bool, error) // where the passer is nearest at the seat
}

// pass is where the crown comes nearest to an obstacle: how near, on which
// point of the obstacle and how far above the seat.
type pass struct {
	name        string
	dist, above float64
	at          geom.Vec
	seated      float64 // distance at the seat
}

// Seating makes the reading of the crown's way to its seat.
func (c *Crown) Seating(ctx context.Context) ([]reading.Reading, error) {
	const id = "crown.seating.clearance"
	if c.Open {
		return []reading.Reading{unmeasured(id, outerOnly)}, nil
	}
	var all []pass
	var rest Settled
	var settles bool
	err := par.Together(ctx,
		func() (err error) { rest, settles, err = c.Settle(ctx); return err },
		func() (err error) { all, err = c.allPasses(ctx); return err })
	switch {
	case err != nil:
		return nil, err
	case len(all) == 0:
		return []reading.Reading{unmeasured(id, "the crown is nowhere near the preparation's walls")}, nil
	}
	r := c.clearanceOf(id, all)
	if settles {
		r.Subs = append(r.Subs, reading.Sub{Name: "settles by", Value: rest.Down, Unit: unit.Millimetre},
			reading.Sub{Name: "mean marginal gap when settled", Value: rest.Gap, Unit: unit.Millimetre})
		r.Note += "; " + rest.words(c.Mesial)
	}
	return []reading.Reading{r}, nil
}

const walls = "walls of the preparation"

// clearanceOf makes the reading from the passes of all obstacles.
func (c *Crown) clearanceOf(id reading.ID, all []pass) reading.Reading {
	worst := all[0]
	for _, p := range all {
		if p.dist < worst.dist {
			worst = p
		}
	}
	r := reading.Reading{ID: id, Value: worst.dist, At: c.placeOf(worst.at), Parts: c.lengthParts(4, 0)}
	for _, p := range all {
		r.Subs = append(r.Subs, reading.Sub{Name: p.name, Value: p.dist, Unit: unit.Millimetre, At: c.placeOf(p.at)},
			reading.Sub{Name: p.name + ", height above the seat", Value: p.above, Unit: unit.Millimetre})
		if r.Note += p.words(); p.name == walls && p.dist < 0 {
			none := 0.0
			r.OwnLimit = &reading.Limit{Min: &none, Status: "computed", Source: "the walls of the preparation do not give way"}
		}
	}
	r.Note = strings.TrimSuffix(r.Note, "; ")
	return r
}

// words says what was met.
func (p *pass) words() string {
	switch {
	case p.above > 0 && p.dist < math.Min(0, p.seated)-seatingTell:
		return fmt.Sprintf("binds on the %s %.2f mm above the seat, by %.3f mm (%.3f at the seat); ", p.name, p.above, -p.dist, p.seated)
	case p.dist < 0:
		return fmt.Sprintf("%s: in the way by %.3f mm at the seat; ", p.name, -p.dist)
	}
	return fmt.Sprintf("%s: free by %.3f mm; ", p.name, p.dist)
}

// obstacles are the walls of the preparation and the teeth beside it.
func (c *Crown) obstacles(ctx context.Context) []obstacle {
	out := []obstacle{c.wallObstacle(ctx)}
	if !c.Mesial {
		return out
	}
	for _, side := range []struct {
		azimuth int
		name    string
	}{{0, "mesial neighbour"}, {180, "distal neighbour"}} {
		if to := c.neighbourSurface(side.azimuth); to != nil {
			out = append(out, c.toothObstacle(ctx, side.name, side.azimuth, to))
		}
	}
	return out
}

// wallObstacle is the axial wall, which the intaglio passes.
func (c *Crown) wallObstacle(ctx context.Context) obstacle {
	wall := c.wallFacets()
	o := obstacle{name: walls, to: c.Prepared, passer: c.Intaglio,
		keep: func(geom.Vec) bool { return true }, counts: func(f int32) bool { return wall[f] }}
	o.seat = func() (pass, bool, error) {
		spots, hits, err := c.inside(ctx)
		if err != nil {
			return pass{}, false, err
		}
		var g []sample
		for i := range hits {
			if h := &hits[i]; h.Facet >= 0 && math.Abs(h.Dist) <= seatingReach && wall[h.Facet] && !h.BeyondBorder {
				g = append(g, sample{o.to.liftedDist(spots[i].point, h), spots[i].area, i})
			}
		}
		m, ok := robustMin(g)
		if !ok {
			return pass{}, false, nil
		}
		return pass{name: o.name, dist: m.value, at: spots[m.i].point}, true, nil
	}
	return o
}

// liftedDist is the signed distance of p from the surface that the facets
// stand for.
func (s *Surface) liftedDist(p geom.Vec, h *bvh.SignedHit) float64 {
	q, n := s.foot(p, h.Hit), s.Tree.FeatureNormal(h.Hit)
	if d := p.Sub(q); d.Dot(n) < 0 {
		return -d.Norm()
	}
	return p.Dist(q)
}

// toothObstacle is a tooth beside, which the cameo passes.
func (c *Crown) toothObstacle(ctx context.Context, name string, azimuth int, to *Surface) obstacle {
	near := c.toward(azimuth)
	o := obstacle{name: name, to: to, passer: c.Cameo, counts: func(int32) bool { return true }}
	o.keep = func(p geom.Vec) bool {
		a, _, z := c.Frame.Cylinder(p)
		return near(a, z, wrap(int(math.Round(a))))
	}
	o.seat = func() (pass, bool, error) {
		f, err := c.toTooth(ctx, to, azimuth)
		if err != nil {
			return pass{}, false, err
		}
		v, at, _, ok := f.dip()
		return pass{name: name, dist: v, at: at}, ok, nil
	}
	return o
}

// horizon returns the vertices at which a surface of the crown turns from
// facing down to facing up along the placement axis, with their normals. On the
// way, surfaces come nearest to one another square to the axis, where both
// face sideways, or else at the end of the way.
func (c *Crown) horizon(s *Surface, keep func(p geom.Vec) bool) (out, normals []geom.Vec) {
	m := s.Mesh
	up, down := make([]bool, len(m.V)), make([]bool, len(m.V))
	for f, t := range m.F {
		side := geom.TriangleNormal(m.Corner(int32(f))).Dot(c.Frame.Z)
		for _, v := range t {
			up[v], down[v] = up[v] || side > 0, down[v] || side <= 0
		}
	}
	for v := range m.V {
		if up[v] && down[v] && keep(m.V[v]) {
			out, normals = append(out, m.V[v]), append(normals, s.normals[v])
		}
	}
	return thinned(out, seatingMost), thinned(normals, seatingMost)
}

// thinned returns at most so many of v, evenly spread.
func thinned[T any](v []T, most int) []T {
	if len(v) <= most {
		return v
	}
	out := make([]T, most)
	for i := range out {
		out[i] = v[i*len(v)/most]
	}
	return out
}

// allPasses finds where the crown comes nearest to each obstacle that it is near
// at its seat.
func (c *Crown) allPasses(ctx context.Context) (all []pass, err error) {
	for _, o := range c.obstacles(ctx) {
		p, ok, err := c.passes(ctx, &o)
		if err != nil {
			return nil, err
		}
		if ok {
			all = append(all, p)
		}
	}
	return all, nil
}

// passes finds where the crown comes nearest to an obstacle: at its seat, and
// on the way with its horizon. Ok is false where
// the crown is not near at its seat.
func (c *Crown) passes(ctx context.Context, o *obstacle) (p pass, ok bool, err error) {
	if p, ok, err = o.seat(); err != nil || !ok {
		return p, false, err
	}
	p.seated = p.dist
	pts, normals := c.horizon(o.passer, o.keep)
	found := make([]pass, len(pts))
	o.to.Tree.Ready()
	err = par.Do(ctx, len(found), 64, func(lo, hi int) {
		near := o.to.Tree.Finder()
		for i := lo; i < hi; i++ {
			found[i] = c.follow(o, near, pts[i], normals[i], p.seated)
		}
	})
	if f, some := nearestBut(found); some && f.dist < p.dist {
		p.dist, p.above, p.at = f.dist, f.above, f.at
	}
	return p, true, err
}

// horizonEach is of how many followed points one is left out. A crown's horizon
// without noise has up to twice as many, along a line; noise makes a band of it.
const horizonEach = 150

// nearestBut leaves out the nearest pass, which may be a single bad vertex:
// along a line of vertices the next costs a few um only. Of many points more are
// left out, one in horizonEach: the nearest of a band are the noise's.
func nearestBut(all []pass) (pass, bool) {
	if len(all) < 2 {
		return pass{}, false
	}
	slices.SortStableFunc(all, func(a, b pass) int { return cmp.Compare(a.dist, b.dist) })
	return all[max(1, len(all)/horizonEach)], true
}

// follow lifts the point x of the crown, with normal n, off the seat and
// returns where it is nearest to an obstacle, if nearer than least. The
// distance changes by no more than the way, so that as much as it exceeds the
// least can be stepped over.
func (c *Crown) follow(o *obstacle, near *bvh.Finder, x, n geom.Vec, least float64) pass {
	best := pass{dist: least}
	within := seatingReach // the nearest point lies within, if within seatingReach
	for above := 0.0; above <= seatingFrom; {
		at := x.Add(c.Frame.Z.Mul(above))
		d, plain := seatingReach, seatingReach
		if h, ok := near.Signed(at, math.Min(seatingReach, within)); ok {
			d = math.Abs(h.Dist)
			plain = d
			if o.counts(h.Facet) && !h.BeyondBorder && o.to.Tree.FeatureNormal(h.Hit).Dot(n) <= facingAway {
				if d = o.to.liftedDist(at, &h); d < best.dist {
					best = pass{dist: d, above: above, at: at}
				}
			}
		}
		step := math.Max(seatingStep, d-best.dist)
		above, within = above+step, plain+step+footSlack
	}
	return best
}
