package align

import (
	"math"
	"math/rand/v2"

	"crownassay/geom"
	"crownassay/internal/shape"
	"crownassay/mesh"
)

// hillock is a smooth rise or dip of a relief: h exp(-((x-x0)^2+(y-y0)^2)/2s^2), mm.
type hillock struct{ x, y, h, s float64 }

// relief is an open sheet of 22 x 16 mm over which a sum of hillocks stands,
// like the occlusal side of a row of teeth without being one.
type relief []hillock

// reliefOf invents one: cusps of 1.2 to 3 mm in no regular order.
func reliefOf(seed uint64) relief {
	rng := rand.New(rand.NewPCG(seed, 77))
	var r relief
	for range 24 {
		h := 1 + 1.5*rng.Float64()
		if rng.IntN(3) == 0 {
			h = -h
		}
		r = append(r, hillock{22*rng.Float64() - 11, 16*rng.Float64() - 8, h, 1.2 + 1.2*rng.Float64()})
	}
	return r
}

func (r relief) at(x, y float64) geom.Vec {
	z := 0.0
	for _, k := range r {
		z += k.h * math.Exp(-((x-k.x)*(x-k.x)+(y-k.y)*(y-k.y))/(2*k.s*k.s))
	}
	return geom.V(x, y, z)
}

// scan is the sheet on a jittered lattice of the given edge that is turned by
// an angle of the seed, so that no two have a vertex in common; every vertex is
// exact. Facets whose middle lies in the hole are missing.
func (r relief) scan(edge float64, seed uint64, hole func(x, y float64) bool) *mesh.Mesh {
	rng := rand.New(rand.NewPCG(seed, 78))
	s, c := math.Sincos(2 * math.Pi * rng.Float64())
	n := int(14/edge) + 1
	m := &mesh.Mesh{}
	index := func(i, j int) int32 { return int32(i*(2*n+1) + j) }
	for i := range 2*n + 1 {
		for j := range 2*n + 1 {
			u := (float64(i-n) + 0.4*(rng.Float64()-0.5)) * edge
			v := (float64(j-n) + 0.4*(rng.Float64()-0.5)) * edge
			m.V = append(m.V, r.at(c*u-s*v, s*u+c*v))
		}
	}
	add := func(f [3]int32) {
		mid := m.V[f[0]].Add(m.V[f[1]]).Add(m.V[f[2]]).Mul(1.0 / 3)
		if math.Abs(mid.X) < 11 && math.Abs(mid.Y) < 8 && (hole == nil || !hole(mid.X, mid.Y)) {
			m.F = append(m.F, f)
		}
	}
	for i := range 2 * n {
		for j := range 2 * n {
			add([3]int32{index(i, j), index(i+1, j), index(i+1, j+1)})
			add([3]int32{index(i, j), index(i+1, j+1), index(i, j+1)})
		}
	}
	return m
}

// missing is 15 % of the sheet: 52.8 of 352 mm^2, from one end and one corner.
func missing(x, y float64) bool { return x > 9 || x < -6 && y > 8-20.8/5 }

// away is a motion by an angle, degrees, and 20 mm.
func away(deg float64, rng *rand.Rand) geom.Rigid {
	dir := func() geom.Vec { return geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()).Unit() }
	return geom.Rigid{R: geom.RotationAbout(dir(), deg*math.Pi/180), T: dir().Mul(20)}
}

// missedBy returns the largest distance between a vertex where the two motions
// leave it, mm, and the angle between them, degrees.
func missedBy(got, want geom.Rigid, m *mesh.Mesh) (d, deg float64) {
	for _, f := range m.F {
		for _, v := range f {
			d = math.Max(d, got.Apply(m.V[v]).Dist(want.Apply(m.V[v])))
		}
	}
	r := got.R.Times(want.R.Transpose())
	w := geom.V(r[2][1]-r[1][2], r[0][2]-r[2][0], r[1][0]-r[0][1]).Mul(0.5)
	return d, math.Atan2(w.Norm(), (r[0][0]+r[1][1]+r[2][2]-1)/2) * 180 / math.Pi
}

func noisy(m *mesh.Mesh, seed uint64) *mesh.Mesh {
	return shape.Noisy(m, 0.010, rand.New(rand.NewPCG(seed, 79)))
}
