package bvh

import (
	"math"
	"math/rand/v2"

	"crownassay/geom"
	"crownassay/mesh"
)

// tube is a mesh of revolution or of a star-shaped surface: n rows of 2n
// points at(s, t), s from 0 to 1 along, t around; the first and last row are
// drawn together to one vertex when they coincide.
func tube(n int, at func(s, t float64) geom.Vec) *mesh.Mesh {
	m := &mesh.Mesh{V: []geom.Vec{at(0, 0)}}
	w := int32(2 * n)
	for i := 1; i < n; i++ {
		for j := range w {
			m.V = append(m.V, at(float64(i)/float64(n), float64(j)/float64(w)))
		}
	}
	m.V = append(m.V, at(1, 0))
	last := int32(len(m.V) - 1)
	for j := range w {
		k := (j + 1) % w
		m.F = append(m.F, [3]int32{0, 1 + j, 1 + k}, [3]int32{last, last - w + k, last - w + j})
		for i := range int32(n - 2) {
			a, b := 1+i*w+j, 1+i*w+k
			m.F = append(m.F, [3]int32{a, a + w, b + w}, [3]int32{a, b + w, b})
		}
	}
	return m
}

func ballPoint(r, s, t float64) geom.Vec {
	ss, cs := math.Sincos(math.Pi * s)
	st, ct := math.Sincos(2 * math.Pi * t)
	return geom.V(r*ss*ct, r*ss*st, r*cs)
}

// sphere has radius r around the origin and 4n(n-1) facets.
func sphere(r float64, n int) *mesh.Mesh {
	return tube(n, func(s, t float64) geom.Vec { return ballPoint(r, s, t) })
}

// lumpRadius is the radius of the lumpy surface in a unit direction: about the
// size of a molar, with cusp-like lumps and a dent.
func lumpRadius(d geom.Vec) float64 {
	r := 5.0
	for _, b := range [][5]float64{
		{0.47, 0.41, 0.78, 1.3, 22}, {-0.40, 0.43, 0.81, 1.1, 25}, {-0.51, -0.40, 0.77, 1.4, 20},
		{0.45, -0.40, 0.80, 1.0, 27}, {0, 0, 1, -0.9, 18}, {0, 0, -1, -1, 5}, {1, 0.1, 0, 0.4, 7},
	} {
		c := geom.V(b[0], b[1], b[2]).Unit()
		r += b[3] * math.Exp(b[4]*(d.Dot(c)-1))
	}
	return r
}

// lumpy is a closed star-shaped surface; lumpy(224) has 200k facets.
func lumpy(n int) *mesh.Mesh {
	return tube(n, func(s, t float64) geom.Vec {
		d := ballPoint(1, s, t)
		return d.Mul(lumpRadius(d))
	})
}

// torus has the radii R and r about the z axis.
func torus(R, r float64, n int) *mesh.Mesh {
	m := &mesh.Mesh{}
	w := int32(2 * n)
	for i := range w {
		si, ci := math.Sincos(2 * math.Pi * float64(i) / float64(w))
		for j := range w {
			sj, cj := math.Sincos(2 * math.Pi * float64(j) / float64(w))
			m.V = append(m.V, geom.V((R+r*cj)*ci, (R+r*cj)*si, r*sj))
		}
	}
	for i := range w {
		for j := range w {
			k, l := (i+1)%w*w, (j+1)%w
			m.F = append(m.F, [3]int32{i*w + j, k + j, k + l}, [3]int32{i*w + j, k + l, i*w + l})
		}
	}
	return m
}

// slab is the closed box from -h to h.
func slab3(h geom.Vec) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range 8 {
		sign := func(bit int) float64 { return float64(2*(i>>bit&1) - 1) }
		m.V = append(m.V, geom.V(h.X*sign(0), h.Y*sign(1), h.Z*sign(2)))
	}
	for _, q := range [][4]int32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.F = append(m.F, [3]int32{q[0], q[1], q[2]}, [3]int32{q[0], q[2], q[3]})
	}
	return m
}

// sheet is an open flat square from 0 to n in x and y at z = 0, facing +z.
func sheet(n int) *mesh.Mesh {
	m := &mesh.Mesh{}
	for j := range n + 1 {
		for i := range n + 1 {
			m.V = append(m.V, geom.V(float64(i), float64(j), 0))
		}
	}
	for j := range n {
		for i := range n {
			p := int32(j*(n+1) + i)
			q := p + int32(n) + 1
			m.F = append(m.F, [3]int32{p, p + 1, q + 1}, [3]int32{p, q + 1, q})
		}
	}
	return m
}

// soup is n facets that share no vertex, of sizes from 1e-9 to 1, some without
// area, some twice.
func soup(n int, r *rand.Rand) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range n {
		size := math.Pow(10, -9*r.Float64())
		c := randVec(r, 3)
		a, b := c.Add(randVec(r, size)), c.Add(randVec(r, size))
		switch i % 7 {
		case 0:
			b = a.Lerp(c, r.Float64())
		case 1:
			b = a
		}
		at := int32(len(m.V))
		m.V = append(m.V, a, b, c)
		m.F = append(m.F, [3]int32{at, at + 1, at + 2})
		if i%11 == 0 {
			m.F = append(m.F, [3]int32{at + 2, at, at + 1})
		}
	}
	return m
}

func randVec(r *rand.Rand, s float64) geom.Vec {
	return geom.V(s*r.NormFloat64(), s*r.NormFloat64(), s*r.NormFloat64())
}

// randRigid is a random turn about the origin and shift of a few millimetres.
func randRigid(r *rand.Rand) geom.Rigid {
	axis := randVec(r, 1).Unit()
	return geom.Rigid{R: geom.RotationAbout(axis, 6*r.Float64()), T: randVec(r, 10)}
}

// shuffled renumbers vertices and facets and turns facets' corners around; it
// returns the new index of every old facet too.
func shuffled(m *mesh.Mesh, r *rand.Rand) (*mesh.Mesh, []int) {
	vs, fs := r.Perm(len(m.V)), r.Perm(len(m.F))
	out := &mesh.Mesh{V: make([]geom.Vec, len(m.V)), F: make([][3]int32, len(m.F))}
	for i, v := range vs {
		out.V[v] = m.V[i]
	}
	for i, f := range fs {
		k := r.IntN(3)
		t := m.F[i]
		out.F[f] = [3]int32{int32(vs[t[k]]), int32(vs[t[(k+1)%3]]), int32(vs[t[(k+2)%3]])}
	}
	return out, fs
}

func refined(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{V: append([]geom.Vec{}, m.V...)}
	mids := map[[2]int32]int32{}
	mid := func(a, b int32) int32 {
		k := [2]int32{min(a, b), max(a, b)}
		if _, ok := mids[k]; !ok {
			mids[k] = int32(len(out.V))
			out.V = append(out.V, m.V[k[0]].Lerp(m.V[k[1]], 0.5))
		}
		return mids[k]
	}
	for _, t := range m.F {
		x, y, z := mid(t[0], t[1]), mid(t[1], t[2]), mid(t[2], t[0])
		out.F = append(out.F, [3]int32{t[0], x, z}, [3]int32{x, t[1], y}, [3]int32{z, y, t[2]}, [3]int32{x, y, z})
	}
	return out
}

// within reports whether a and b differ by at most tol.
func within(a, b, tol float64) bool { return math.Abs(a-b) <= tol }
