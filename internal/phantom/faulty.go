package phantom

import (
	"context"
	"fmt"
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// What can be wrong with a crown's file as a whole.
const (
	ShellInverted = "inverted"      // facets turned over
	ShellOpen     = "outer surface" // no cavity: an open shell
	ShellSolid    = "solid block"   // closed flat below: a block without a cavity
	ShellUpside   = "upside down"
	ShellAway     = "away"       // in a frame of its own
	ShellSeveral  = "several"    // a loose piece beside the crown
	ShellCrossing = "crossing"   // the cavity breaks through the outer surface
	ShellOther    = "other site" // a crown for another tooth, put on this one
)

// faulty weaves the crown with what the spec has wrong with its shell.
func (c *Case) faulty(ctx context.Context, r *restoration) (*mesh.Mesh, error) {
	kind := c.Spec.Crown.Shell
	if kind == ShellOther {
		return c.otherCrown(ctx)
	}
	rng, pose := stream(c.Spec.Seed, streamCrown), c.model.pose
	m, err := r.shell(ctx, rng)
	if err != nil {
		return nil, err
	}
	switch kind {
	case ShellInverted:
		flip(m)
	case ShellOpen:
		m.F = m.F[:r.outerFacets]
		tidy(m)
	case ShellSolid:
		m.F = m.F[:r.outerFacets]
		tidy(m)
		capped(m)
	case ShellUpside:
		pose = pose.After(aboutMiddle(m, r.model.target.frame.m, math.Pi))
	case ShellAway:
		pose = poseFrom(stream(c.Spec.Seed, streamCrown+3))
	case ShellSeveral:
		loose(m, r)
	}
	return c.exported(m, streamCrown+1, pose), nil
}

// aboutMiddle turns a mesh about the middle of its box.
func aboutMiddle(m *mesh.Mesh, axis geom.Vec, angle float64) geom.Rigid {
	o, turn := m.Box().Center(), geom.RotationAbout(axis, angle)
	return geom.Rigid{R: turn, T: o.Sub(turn.Apply(o))}
}

// capped closes an open outer surface by a fan to the middle of its border.
func capped(m *mesh.Mesh) {
	open := map[[2]int32]bool{}
	for _, f := range m.F {
		for k := range 3 {
			a, b := f[k], f[(k+1)%3]
			if open[[2]int32{b, a}] {
				delete(open, [2]int32{b, a})
			} else {
				open[[2]int32{a, b}] = true
			}
		}
	}
	next := map[int32]int32{}
	first := int32(math.MaxInt32)
	for e := range open {
		next[e[0]] = e[1]
		first = min(first, e[0])
	}
	middle, n := geom.Vec{}, int32(len(m.V))
	at := first
	for range next {
		middle = middle.Add(m.V[at].Mul(1 / float64(len(next))))
		m.F = append(m.F, [3]int32{next[at], at, n})
		at = next[at]
	}
	m.V = append(m.V, middle)
}

// loose adds a small closed piece beside the crown.
func loose(m *mesh.Mesh, r *restoration) {
	f := &r.model.target.frame
	o := m.Box().Center().Add(f.b.Mul(r.model.target.crown.bl))
	n := int32(len(m.V))
	for _, d := range []geom.Vec{{X: 1, Y: 1, Z: 1}, {X: 1, Y: -1, Z: -1}, {X: -1, Y: 1, Z: -1}, {X: -1, Y: -1, Z: 1}} {
		m.V = append(m.V, o.Add(d.Mul(0.3)))
	}
	m.F = append(m.F, [3]int32{n, n + 1, n + 2}, [3]int32{n, n + 3, n + 1}, [3]int32{n, n + 2, n + 3}, [3]int32{n + 1, n + 3, n + 2})
}

// otherCrown makes the crown of the tooth two places on and puts it here by
// the frames of the two teeth.
func (c *Case) otherCrown(ctx context.Context) (*mesh.Mesh, error) {
	spec := c.Spec
	_, position, err := spec.place()
	if err != nil {
		return nil, err
	}
	other := position - 2
	if other < 1 {
		other = position + 3
	}
	spec.Tooth = fmt.Sprintf("%c%d", c.Spec.Tooth[0], other)
	spec.RandomPose, spec.Defects, spec.Triangles = false, nil, 20000
	plain := Crown{Triangles: spec.Crown.Triangles}
	spec.Crown = &plain
	if spec.Crown, err = plain.complete(); err != nil {
		return nil, err
	}
	m, err := newModel(ctx, spec)
	if err != nil {
		return nil, err
	}
	r, err := m.newRestoration(ctx, spec.Crown)
	if err != nil {
		return nil, err
	}
	s, err := r.shell(ctx, stream(c.Spec.Seed, streamCrown))
	if err != nil {
		return nil, err
	}
	a, b := m.target.frame, c.model.target.frame
	for i, p := range s.V {
		s.V[i] = b.toArch(a.toTooth(p))
	}
	return c.exported(s, streamCrown+1, c.model.pose), nil
}
