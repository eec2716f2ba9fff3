package align

import (
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"crownassay/geom"
	"crownassay/internal/shape"
)

// With exact correspondences the motion comes back to rounding (B. K. P. Horn
// 1987, section 4), also for four points in a plane and for half a turn.
func TestSuperposeIsExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 1))
	half := geom.Rigid{R: geom.RotationAbout(geom.V(1, 2, 2).Mul(1.0/3), 3.141592653589793), T: geom.V(1, 2, 3)}
	for k := range 50 {
		g := shape.Pose(rng)
		if k == 0 {
			g = half
		}
		p, q := make([]geom.Vec, 4+k%7), make([]geom.Vec, 4+k%7)
		for i := range p {
			p[i] = geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()*float64(k%2)).Mul(10)
			q[i] = g.Apply(p[i])
		}
		got := Superpose(p, q)
		for i := range p {
			if d := got.Apply(p[i]).Dist(q[i]); d > 1e-11 {
				t.Fatalf("case %d: point %d is %g mm off", k, i, d)
			}
		}
	}
}

// On noisy points Horn's quaternion and the singular value decomposition agree.
// Source: K. S. Arun, T. S. Huang, S. D. Blostein, Least-squares fitting of two
// 3-D point sets, IEEE Transactions on Pattern Analysis and Machine
// Intelligence 9 (1987) 698-700; the decomposition is gonum's.
func TestSuperposeIsArun(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 2))
	noise := func() geom.Vec { return geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()) }
	for k := range 30 {
		g := shape.Pose(rng)
		p, q := make([]geom.Vec, 12), make([]geom.Vec, 12)
		for i := range p {
			p[i] = noise().Mul(5)
			q[i] = g.Apply(p[i]).Add(noise())
		}
		got, want := Superpose(p, q), arun(t, p, q)
		for i := range p {
			if d := got.Apply(p[i]).Dist(want.Apply(p[i])); d > 1e-10 {
				t.Fatalf("case %d: point %d: %g mm between the two", k, i, d)
			}
		}
	}
}

func arun(t *testing.T, p, q []geom.Vec) geom.Rigid {
	var a, b geom.Vec
	for i := range p {
		a, b = a.Add(p[i].Mul(1/float64(len(p)))), b.Add(q[i].Mul(1/float64(len(p))))
	}
	h := mat.NewDense(3, 3, nil)
	for i := range p {
		x, y := p[i].Sub(a), q[i].Sub(b)
		var o mat.Dense
		o.Outer(1, mat.NewVecDense(3, []float64{x.X, x.Y, x.Z}), mat.NewVecDense(3, []float64{y.X, y.Y, y.Z}))
		h.Add(h, &o)
	}
	var svd mat.SVD
	if !svd.Factorize(h, mat.SVDFull) {
		t.Fatal("no decomposition")
	}
	var u, v, r, vd mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	d := mat.NewDiagDense(3, []float64{1, 1, mat.Det(&u) * mat.Det(&v)})
	vd.Mul(&v, d)
	r.Mul(&vd, u.T())
	var m geom.Mat3
	for i := range 3 {
		for k := range 3 {
			m[i][k] = r.At(i, k)
		}
	}
	return geom.Rigid{R: m, T: b.Sub(m.Apply(a))}
}
