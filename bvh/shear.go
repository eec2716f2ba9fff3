package bvh

import (
	"math"

	"crownassay/geom"
)

// shear is a ray prepared for the watertight test: the axes are renamed so
// that z is the longest component, and sheared so that the ray runs along z.
// Source: S. Woop, C. Benthin, I. Wald, Watertight ray/triangle intersection,
// Journal of Computer Graphics Techniques 2 (2013) 65-82.
type shear struct {
	origin     geom.Vec
	z          int
	sx, sy, sz float64
}

func newShear(origin, dir geom.Vec) shear {
	s := shear{origin: origin}
	x, y, z := math.Abs(dir.X), math.Abs(dir.Y), math.Abs(dir.Z)
	switch {
	case z >= x && z >= y:
		s.z = 2
	case y >= x:
		s.z = 1
	}
	dx, dy, dz := s.rename(dir)
	s.sx, s.sy, s.sz = dx/dz, dy/dz, 1/dz
	return s
}

// rename permutes the components, cyclically.
func (s *shear) rename(v geom.Vec) (x, y, z float64) {
	switch s.z {
	case 0:
		return v.Y, v.Z, v.X
	case 1:
		return v.Z, v.X, v.Y
	}
	return v.X, v.Y, v.Z
}

// corner moves a corner into the sheared frame. Every facet at a vertex gets
// the same digits for it, which is what keeps edges tight.
func (s *shear) corner(v *geom.Vec) (x, y, z float64) {
	x, y, z = s.rename(v.Sub(s.origin))
	return x - float64(s.sx*z), y - float64(s.sy*z), float64(s.sz * z)
}

// hit returns where the ray meets triangle abc; edges and corners belong to
// it. A triangle seen edge-on is not met.
func (s *shear) hit(a, b, c *geom.Vec) (float64, bool) {
	ax, ay, az := s.corner(a)
	bx, by, bz := s.corner(b)
	cx, cy, cz := s.corner(c)
	u := float64(cx*by) - float64(cy*bx)
	v := float64(ax*cy) - float64(ay*cx)
	w := float64(bx*ay) - float64(by*ax)
	if (u < 0 || v < 0 || w < 0) && (u > 0 || v > 0 || w > 0) {
		return 0, false
	}
	det := u + v + w
	if det == 0 {
		return 0, false
	}
	t := (float64(u*az) + float64(v*bz) + float64(w*cz)) / det
	return t, t >= 0
}
