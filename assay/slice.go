package assay

import (
	"context"

	"crownassay/bvh"
	"crownassay/geom"
)

// SliceReach is how far from the tooth's middle, mm, sections are cut: beyond
// the neighbours.
const SliceReach = 16.0

// SliceLine is one connected line of a section, in the coordinates of its
// plane, mm.
type SliceLine struct {
	Role   Role
	Closed bool
	Points [][2]float64
}

// Slice is a plane section through the surfaces of a case. A point of a line
// lies at Origin + x Right + y Up.
type Slice struct {
	Origin, Right, Up geom.Vec
	Lines             []SliceLine // by role, in the order of Roles
}

// SliceAt cuts along the placement axis at an azimuth in degrees: Right leads
// away from the axis on its side, Up is the placement axis.
func (m *Measured) SliceAt(ctx context.Context, azimuth float64) (*Slice, error) {
	f := m.site.Frame
	return m.slice(ctx, &Slice{Origin: f.Origin, Right: f.Direction(azimuth), Up: f.Z})
}

// SliceBy cuts by a plane through a point with a unit normal. Up is the part
// of the placement axis that lies in the plane, or, square to the axis, of the
// direction of azimuth 90.
func (m *Measured) SliceBy(ctx context.Context, at, normal geom.Vec) (*Slice, error) {
	f := m.site.Frame
	up := f.Z.Reject(normal)
	if up.Norm() < alongAxis {
		up = f.Y.Reject(normal)
	}
	up = up.Unit()
	return m.slice(ctx, &Slice{Origin: at, Right: up.Cross(normal), Up: up})
}

// alongAxis is the sine of the angle to the axis below which a plane's normal
// counts as running along it.
const alongAxis = 1e-3

// slice cuts every surface there is.
func (m *Measured) slice(ctx context.Context, s *Slice) (*Slice, error) {
	plane := geom.PlaneThrough(s.Origin, s.Up.Cross(s.Right))
	for _, role := range Roles {
		t := m.tree(role)
		if t == nil {
			continue
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		for _, l := range t.SectionNear(plane, m.site.Frame.Origin, SliceReach) {
			s.Lines = append(s.Lines, s.flat(role, l))
		}
	}
	return s, nil
}

func (s *Slice) flat(role Role, l bvh.Polyline) SliceLine {
	out := SliceLine{role, l.Closed, make([][2]float64, len(l.Points))}
	for i, p := range l.Points {
		d := p.Sub(s.Origin)
		out.Points[i] = [2]float64{d.Dot(s.Right), d.Dot(s.Up)}
	}
	return out
}

// tree returns the search tree of a role's surface; nil where it is not
// measured.
func (m *Measured) tree(role Role) *bvh.Tree {
	switch {
	case role == Prepared:
		return m.site.Prepared.Tree
	case role == Opposing && m.site.Opposing != nil:
		return m.site.Opposing.Tree
	case role == Before && m.site.Before != nil:
		return m.site.Before.Tree
	case role == Crown && m.design != nil:
		return m.design.Shell.Tree
	case role == Finished && m.made != nil:
		return m.made.Shell.Tree
	}
	return nil
}
