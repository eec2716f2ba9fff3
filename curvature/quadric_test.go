package curvature

import (
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"

	"pgregory.net/rapid"
)

// patch samples at(a, b) on a grid of (2n+1)^2 points with the given step.
func patch(n int, step float64, at func(a, b float64) geom.Vec) []geom.Vec {
	var ps []geom.Vec
	for i := -n; i <= n; i++ {
		for j := -n; j <= n; j++ {
			ps = append(ps, at(float64(i)*step, float64(j)*step))
		}
	}
	return ps
}

func randVec(r *rand.Rand, s float64) geom.Vec {
	return geom.V(s*r.NormFloat64(), s*r.NormFloat64(), s*r.NormFloat64())
}

func randRigid(r *rand.Rand) geom.Rigid {
	return geom.Rigid{R: geom.RotationAbout(randVec(r, 1).Unit(), 6*r.Float64()), T: randVec(r, 20)}
}

// Principal curvatures with closed forms (M. P. do Carmo, Differential
// Geometry of Curves and Surfaces, 1976, sections 3-2 and 3-3). The patches
// reach s = 0.02 to 0.13 mm. What a quadric leaves out, the third order that
// comes with the frame's tilt of 0.1 and the fourth, is of the order of
// s^2 k^2 times 0.1 in the normal and s^2 k^3 in the curvatures k: 4e-4 and,
// by fitting, about a fifth of 2e-3.
func TestQuadricOfExactShapes(t *testing.T) {
	const b0 = 0.7
	ring := func(b float64) float64 { return 5 + 2*math.Cos(b0+b) }
	for _, c := range []struct {
		name   string
		at     func(a, b float64) geom.Vec
		normal geom.Vec
		k1, k2 float64
		dir1   geom.Vec // zero: any
	}{
		{"ball", func(a, b float64) geom.Vec { return geom.V(a, b, math.Sqrt(16-a*a-b*b)) }, geom.V(0, 0, 1), 0.25, 0.25, geom.Vec{}},
		{"ball from inside", func(a, b float64) geom.Vec { return geom.V(a, b, math.Sqrt(16-a*a-b*b)) }, geom.V(0, 0, -1), -0.25, -0.25, geom.Vec{}},
		{"cylinder", func(a, b float64) geom.Vec { return geom.V(3*math.Cos(a), 3*math.Sin(a), b) }, geom.V(1, 0, 0), 1.0 / 3, 0, geom.V(0, 1, 0)},
		{"groove", func(a, b float64) geom.Vec { return geom.V(3*math.Cos(a), 3*math.Sin(a), b) }, geom.V(-1, 0, 0), 0, -1.0 / 3, geom.V(0, 0, 1)},
		{"saddle", func(a, b float64) geom.Vec { return geom.V(a, b, a*b) }, geom.V(0, 0, 1), 1, -1, geom.V(1, -1, 0).Unit()},
		{"torus", func(a, b float64) geom.Vec {
			return geom.V(ring(b)*math.Cos(a), ring(b)*math.Sin(a), 2*math.Sin(b0+b))
		}, geom.V(math.Cos(b0), 0, math.Sin(b0)), 0.5, math.Cos(b0) / ring(0), geom.V(-math.Sin(b0), 0, math.Cos(b0))},
		{"plane", func(a, b float64) geom.Vec { return geom.V(a, b, 0) }, geom.V(0, 0, 1), 0, 0, geom.Vec{}},
	} {
		g := randRigid(rand.New(rand.NewPCG(1, 1)))
		ps := patch(5, 0.004, c.at)
		for i := range ps {
			ps[i] = g.Apply(ps[i])
		}
		// The frame's normal is tilted by 6 degrees: the answer must not care.
		tilt := c.normal.Add(c.normal.Normal().Mul(0.1))
		f, ok := Quadric(ps, g.Apply(c.at(0, 0)), g.Turn(tilt))
		if !ok || math.Abs(f.K1-c.k1) > 4e-4 || math.Abs(f.K2-c.k2) > 4e-4 {
			t.Errorf("%s: k1, k2 = %g, %g, %v, want %g, %g", c.name, f.K1, f.K2, ok, c.k1, c.k2)
		}
		if f.Normal.Dist(g.Turn(c.normal)) > 4e-4 || math.Abs(f.Height) > 1e-6 {
			t.Errorf("%s: normal %v, height %g, want %v, 0", c.name, f.Normal, f.Height, g.Turn(c.normal))
		}
		if c.dir1 != (geom.Vec{}) && math.Abs(f.Dir1.Dot(g.Turn(c.dir1))) < 1-1e-6 {
			t.Errorf("%s: direction of k1 = %v, want +-%v", c.name, f.Dir1, g.Turn(c.dir1))
		}
		if math.Abs(f.Dir1.Dot(f.Dir2))+math.Abs(f.Dir1.Dot(f.Normal))+math.Abs(f.Dir2.Dot(f.Normal)) > 1e-12 {
			t.Errorf("%s: directions not square to one another", c.name)
		}
	}
}

// On a quadric the fit is exact, whatever the coefficients.
func TestQuadricIsExactOnQuadrics(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		c := [5]float64{r.NormFloat64() * 0.3, r.NormFloat64() * 0.3, r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}
		at := func(a, b float64) geom.Vec {
			return geom.V(a, b, c[0]*a+c[1]*b+c[2]*a*a+c[3]*a*b+c[4]*b*b)
		}
		var ps []geom.Vec
		for range 12 {
			ps = append(ps, at(r.Float64()-0.5, r.Float64()-0.5))
		}
		f, ok := Quadric(ps, geom.Vec{}, geom.V(0, 0, 1))
		// Mean and Gaussian curvature of a graph (do Carmo, section 3-3,
		// example 5), the sign turned so that convex is positive.
		w := 1 + c[0]*c[0] + c[1]*c[1]
		gauss := (4*c[2]*c[4] - c[3]*c[3]) / (w * w)
		mean := -((1+c[1]*c[1])*2*c[2] - 2*c[0]*c[1]*c[3] + (1+c[0]*c[0])*2*c[4]) / (2 * w * math.Sqrt(w))
		if !ok || math.Abs(f.K1*f.K2-gauss) > 1e-7 || math.Abs((f.K1+f.K2)/2-mean) > 1e-7 || f.RMS > 1e-9 {
			t.Fatalf("k1, k2 = %g, %g, rms %g, %v, want product %g, mean %g", f.K1, f.K2, f.RMS, ok, gauss, mean)
		}
	})
}

// With noise of known size the RMS residual and the standard uncertainty of
// the slope are what they say, over 2000 draws (relative standard error of a
// standard deviation: 1/sqrt(2 x 2000) = 1.6 %; four of them allowed).
func TestQuadricUncertainty(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 3))
	const sigma, draws = 0.01, 2000
	var rmsSq, said, slopes float64
	for range draws {
		ps := patch(2, 0.1, func(a, b float64) geom.Vec { return geom.V(a, b, sigma*r.NormFloat64()) })
		f, ok := Quadric(ps, geom.Vec{}, geom.V(0, 0, 1))
		if !ok {
			t.Fatal("no fit")
		}
		rmsSq += f.RMS * f.RMS / draws
		said += f.SlopeStd * f.SlopeStd / draws
		slopes += (f.Normal.X*f.Normal.X + f.Normal.Y*f.Normal.Y) / 2 / draws
	}
	if got := math.Sqrt(rmsSq); math.Abs(got/sigma-1) > 0.016 {
		t.Errorf("RMS = %g, want %g (seed 1, 3)", got, sigma)
	}
	if got, want := math.Sqrt(said), math.Sqrt(slopes); math.Abs(got/want-1) > 0.064 {
		t.Errorf("slope uncertainty said %g, seen %g (seed 1, 3)", got, want)
	}
}

func TestQuadricRefuses(t *testing.T) {
	z := geom.V(0, 0, 1)
	ring := make([]geom.Vec, 20)
	for i := range ring {
		s, c := math.Sincos(float64(i))
		ring[i] = geom.V(c, s, 0.1*c)
	}
	line := patch(4, 0.1, func(a, b float64) geom.Vec { return geom.V(a, a, a*a) })
	nan := patch(2, 0.1, func(a, b float64) geom.Vec { return geom.V(a, b, math.NaN()) })
	inf := patch(2, 0.1, func(a, b float64) geom.Vec { return geom.V(a, b, math.Inf(1)) })
	five := patch(1, 0.1, func(a, b float64) geom.Vec { return geom.V(a, b, 0) })[:5]
	for name, ps := range map[string][]geom.Vec{
		"none": nil, "five": five, "one place": make([]geom.Vec, 9), "a circle": ring, "a line": line, "NaN": nan, "Inf": inf,
	} {
		if f, ok := Quadric(ps, geom.Vec{}, z); ok {
			t.Errorf("%s: fitted %+v", name, f)
		}
	}
	if _, ok := Quadric(patch(2, 0.1, func(a, b float64) geom.Vec { return geom.V(a, b, 0) }), geom.Vec{}, geom.Vec{}); ok {
		t.Error("no normal: fitted")
	}
}
