package align

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"crownassay/geom"
)

func randomVec(rng *rand.Rand) geom.Vec {
	return geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64())
}

// A row is the derivative of the distance from the plane under the motion: by
// central differences, whose error is of the order of the step's square.
func TestRowIsTheDerivative(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	const step = 1e-4
	for range 20 {
		v := pivot{randomVec(rng), 3}
		p, n := randomVec(rng).Mul(4), randomVec(rng).Unit()
		j := v.row(p, n)
		for k := range j {
			var up, down vec6
			up[k], down[k] = step, -step
			want := v.motion(up).Apply(p).Sub(v.motion(down).Apply(p)).Dot(n) / (2 * step)
			if math.Abs(j[k]-want) > 1e-7 {
				t.Fatalf("component %d: %g, want %g", k, j[k], want)
			}
		}
	}
}

// The summed equations give what a dense QR solution of all weighed rows gives
// (gonum), and the inverse is that of the dense matrix.
func TestNormalEquationsAreTheSlowOnes(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 2))
	const n = 60
	v := pivot{randomVec(rng), 2.5}
	rows, rhs := mat.NewDense(n, 6, nil), mat.NewVecDense(n, nil)
	var e, part normalEq
	for i := range n {
		j, r, w := v.row(randomVec(rng).Mul(4), randomVec(rng).Unit()), rng.NormFloat64(), rng.Float64()
		if part.add(&j, r, w); i%7 == 6 || i == n-1 {
			e.merge(&part)
			part = normalEq{}
		}
		s := math.Sqrt(w)
		for k := range j {
			rows.Set(i, k, s*j[k])
		}
		rhs.SetVec(i, -s*r)
	}
	var want mat.VecDense
	if err := want.SolveVec(rows, rhs); err != nil {
		t.Fatal(err)
	}
	_, vectors, _ := e.eigen() // any orthonormal basis of all directions will do
	got, ok := e.solve(vectors[:])
	for k := range got {
		if !ok || math.Abs(got[k]-want.AtVec(k)) > 1e-12 {
			t.Errorf("x[%d] = %g, %v, want %g", k, got[k], ok, want.AtVec(k))
		}
	}
	var a, inv mat.Dense
	a.Mul(rows.T(), rows)
	if err := inv.Inverse(&a); err != nil {
		t.Fatal(err)
	}
	is, ok := e.inverse(vectors[:])
	for i := range is {
		for k := range is[i] {
			if !ok || math.Abs(is[i][k]-inv.At(i, k)) > 1e-12 {
				t.Errorf("inverse[%d][%d] = %g, want %g", i, k, is[i][k], inv.At(i, k))
			}
		}
	}
}

// Within a part of the directions the motion has no other component, and no
// step within them makes the squares less.
func TestSolveWithinABasis(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 3))
	v := pivot{size: 1}
	var e normalEq
	for range 40 {
		j := v.row(randomVec(rng), randomVec(rng).Unit())
		e.add(&j, rng.NormFloat64(), 1)
	}
	basis := []vec6{{1, 0, 0, 0, 0, 0}, {0, 0, 0, 0.6, 0.8, 0}}
	x, ok := e.solve(basis)
	if !ok || x[1] != 0 || x[2] != 0 || x[5] != 0 || math.Abs(x[3]*0.8-x[4]*0.6) > 1e-15 {
		t.Fatalf("x = %v leaves the basis", x)
	}
	g := e.times(&x)
	for i := range g {
		g[i] += e.b[i]
	}
	for _, b := range basis {
		if math.Abs(g.dot(&b)) > 1e-12 {
			t.Errorf("gradient along %v is %g, want 0", b, g.dot(&b))
		}
	}
}
