package align

import (
	"crownassay/geom"
	"crownassay/mesh"
)

// framed returns the four motions that take the principal frame of the moving
// surface to that of the fixed one: for bodies without places that look like
// no other, above all bodies of revolution.
func framed(moving, fixed *mesh.Mesh) []candidate {
	a, b := principal(moving), principal(fixed)
	if len(a) < 3 || len(b) < 3 {
		return nil
	}
	p, _ := Centroid(moving)
	q, _ := Centroid(fixed)
	from := columns(a[0], a[1], a[0].Cross(a[1])).Transpose()
	var out []candidate
	for _, s := range [4][2]float64{{1, 1}, {1, -1}, {-1, 1}, {-1, -1}} {
		u, v := b[0].Mul(s[0]), b[1].Mul(s[1])
		r := columns(u, v, u.Cross(v)).Times(from)
		out = append(out, candidate{motion: geom.Rigid{R: r, T: q.Sub(r.Apply(p))}})
	}
	return out
}

// columns returns the matrix with these columns.
func columns(x, y, z geom.Vec) geom.Mat3 {
	return geom.Mat3{{x.X, y.X, z.X}, {x.Y, y.Y, z.Y}, {x.Z, y.Z, z.Z}}
}
