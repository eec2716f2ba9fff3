package measure

import (
	"context"
	"fmt"
	"math"
	"strings"

	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
	"crownassay/reading"
	"crownassay/unit"
)

// The way to the seat. Lengths mm.
const (
	seatingFrom  = 8.0   // the crown starts this far above its seat (definition)
	seatingReach = 1.5   // surfaces farther apart than this are stepped over by as much
	seatingStep  = 0.02  // least step along the way: a bump lower than half of it may pass unseen
	seatingMost  = 6000  // points followed on one surface at most: noise makes many
	seatingTell  = 0.005 // tighter on the way than at the seat by less is not told apart
)

// obstacle is something the crown passes on its way: points all over it for
// the seat, and those that may come nearest higher up.
type obstacle struct {
	name    string
	seat    []spot
	horizon []spot
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
	for _, o := range c.obstacles() {
		p, ok, err := c.passes(ctx, &o)
		if err != nil {
			return nil, err
		}
		if ok {
			all = append(all, p)
		}
	}
	if len(all) == 0 {
		return []reading.Reading{unmeasured(id, "the crown is nowhere near the preparation's walls")}, nil
	}
	return []reading.Reading{c.clearanceOf(id, all)}, nil
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
		return fmt.Sprintf("%s: %.3f mm too tight at the seat; ", p.name, -p.dist)
	}
	return fmt.Sprintf("%s: free by %.3f mm; ", p.name, p.dist)
}

// obstacles are the walls of the preparation and the teeth beside it.
func (c *Crown) obstacles() []obstacle {
	_, axial := c.spots()
	d := c.newDivider()
	d.facet = -1
	onWall := make([]bool, len(c.Prepared.Mesh.V))
	for i, v := range c.Prepared.Mesh.V {
		before := len(d.axial)
		d.sort(v, 0)
		onWall[i] = len(d.axial) > before
	}
	out := []obstacle{{walls, axial, c.horizon(c.Prepared.Mesh, func(v int32) bool { return onWall[v] })}}
	if !c.Mesial {
		return out
	}
	box := c.Shell.Mesh.Box().Grow(seatingReach)
	for _, side := range []struct {
		azimuth int
		name    string
	}{{0, "mesial neighbour"}, {180, "distal neighbour"}} {
		to := c.neighbourSurface(side.azimuth)
		if to == nil {
			continue
		}
		o := obstacle{name: side.name, horizon: c.horizon(to.Mesh, func(int32) bool { return true })}
		pieces(to, func(p geom.Vec, area float64) {
			if box.DistSq(p) == 0 {
				o.seat = append(o.seat, spot{point: p, area: area})
			}
		})
		out = append(out, o)
	}
	return out
}

// horizon returns the vertices at which a surface turns from facing down to
// facing up along the placement axis: on the way, surfaces come nearest to one
// another square to the axis, where both face sideways, or else at the end of
// the way.
func (c *Crown) horizon(m *mesh.Mesh, keep func(v int32) bool) []spot {
	up, down := make([]bool, len(m.V)), make([]bool, len(m.V))
	for f, t := range m.F {
		side := geom.TriangleNormal(m.Corner(int32(f))).Dot(c.Frame.Z)
		for _, v := range t {
			up[v], down[v] = up[v] || side > 0, down[v] || side <= 0
		}
	}
	var out []spot
	for v, area := range vertexAreas(m) {
		if up[v] && down[v] && keep(int32(v)) {
			out = append(out, spot{point: m.V[v], area: area})
		}
	}
	if n := len(out); n > seatingMost {
		for i := range seatingMost {
			out[i] = out[i*n/seatingMost]
		}
		out = out[:seatingMost]
	}
	return out
}

// passes finds where the crown comes nearest to an obstacle: at its seat over
// all of it, and on the way over its horizon. Both are robust minima. Ok is
// false where the crown is not near at its seat.
func (c *Crown) passes(ctx context.Context, o *obstacle) (p pass, ok bool, err error) {
	g, err := gaps(ctx, c.Shell, o.seat, true)
	if err != nil {
		return p, false, err
	}
	seat, ok := robustMin(g)
	if !ok || seat.value > seatingReach {
		return p, false, nil
	}
	p = pass{name: o.name, dist: seat.value, seated: seat.value, at: o.seat[seat.i].point}
	found := make([]pass, len(o.horizon))
	lower := make([]sample, len(o.horizon))
	err = par.Do(ctx, len(found), 64, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			found[i] = c.follow(o.horizon[i].point, p.seated)
			lower[i] = sample{found[i].dist, o.horizon[i].area, i}
		}
	})
	if way, some := robustMin(lower); some && way.value < p.dist {
		f := found[way.i]
		p.dist, p.above, p.at = f.dist, f.above, f.at
	}
	return p, true, err
}

// follow goes with the point y of an obstacle along the way, as seen from the
// crown down from the seat, and returns where the crown is nearest, if nearer
// than least. The distance changes by no more than the way, so that as much as
// it exceeds the least can be stepped over.
func (c *Crown) follow(y geom.Vec, least float64) pass {
	best := pass{dist: least, at: y}
	for above := 0.0; above <= seatingFrom; {
		h, ok := c.Shell.Tree.Signed(y.Sub(c.Frame.Z.Mul(above)), seatingReach)
		d := seatingReach
		if ok {
			d = h.Dist
		}
		if d < best.dist {
			best.dist, best.above = d, above
		}
		above += math.Max(seatingStep, d-best.dist)
	}
	return best
}
