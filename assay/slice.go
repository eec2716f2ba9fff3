package assay

import (
	"context"
	"sync"

	"crownassay/align"
	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/mesh"
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

// Sections cuts the surfaces of a case: those of a case that is held open, or
// surfaces as they were kept.
type Sections struct {
	frame align.Frame
	tree  func(Role) *bvh.Tree // nil for a role that is not cut
}

// NewSections cuts surfaces that were kept, in the frame that was kept with
// them. Search trees are made when they are first needed.
func NewSections(f align.Frame, surfaces map[Role]*mesh.Mesh) *Sections {
	trees := map[Role]func() *bvh.Tree{}
	for role, m := range surfaces {
		trees[role] = sync.OnceValue(func() *bvh.Tree { return bvh.New(m) })
	}
	return &Sections{f, func(r Role) *bvh.Tree {
		if t := trees[r]; t != nil {
			return t()
		}
		return nil
	}}
}

// Sections cuts the surfaces of the case.
func (m *Measured) Sections() *Sections { return &Sections{m.site.Frame, m.tree} }

// Frame returns the tooth's frame.
func (m *Measured) Frame() align.Frame { return m.site.Frame }

// Cut lists the roles that sections cut.
func (m *Measured) Cut() (out []Role) {
	for _, role := range Roles {
		if m.tree(role) != nil {
			out = append(out, role)
		}
	}
	return out
}

// At cuts along the placement axis at an azimuth in degrees: Right leads
// away from the axis on its side, Up is the placement axis.
func (s *Sections) At(ctx context.Context, azimuth float64) (*Slice, error) {
	f := s.frame
	return s.cut(ctx, &Slice{Origin: f.Origin, Right: f.Direction(azimuth), Up: f.Z})
}

// By cuts by a plane through a point with a unit normal. Up is the part
// of the placement axis that lies in the plane, or, square to the axis, of the
// direction of azimuth 90.
func (s *Sections) By(ctx context.Context, at, normal geom.Vec) (*Slice, error) {
	f := s.frame
	up := f.Z.Reject(normal)
	if up.Norm() < alongAxis {
		up = f.Y.Reject(normal)
	}
	up = up.Unit()
	return s.cut(ctx, &Slice{Origin: at, Right: up.Cross(normal), Up: up})
}

// alongAxis is the sine of the angle to the axis below which a plane's normal
// counts as running along it.
const alongAxis = 1e-3

// cut cuts every surface there is.
func (s *Sections) cut(ctx context.Context, out *Slice) (*Slice, error) {
	plane := geom.PlaneThrough(out.Origin, out.Up.Cross(out.Right))
	for _, role := range Roles {
		t := s.tree(role)
		if t == nil {
			continue
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		for _, l := range t.SectionNear(plane, s.frame.Origin, SliceReach) {
			out.Lines = append(out.Lines, out.flat(role, l))
		}
	}
	return out, nil
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
