package meshio

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"crownassay/geom"

	"pgregory.net/rapid"
)

// TestWeldAgainstMap compares the table with Go's own map, over soups of few
// and of many different points, so that the table has to grow.
func TestWeldAgainstMap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		far := rapid.SampledFrom([]int{1, 3, 40}).Draw(t, "far")
		coord := rapid.Custom(func(t *rapid.T) float64 {
			return float64(rapid.IntRange(-far, far).Draw(t, "x")) / 3 * rapid.SampledFrom([]float64{1, -1}).Draw(t, "sign")
		})
		var v []geom.Vec
		for range rapid.IntRange(1, 100).Draw(t, "points") {
			v = append(v, geom.V(coord.Draw(t, "x"), coord.Draw(t, "y"), coord.Draw(t, "z")))
		}
		var f [][3]int32
		for i := range len(v) {
			f = append(f, [3]int32{int32(i), int32(i), 0})
		}
		m := weld(v, f)
		number := map[geom.Vec]int{} // == holds -0 and +0 for equal
		for i, p := range v {
			if _, ok := number[p]; !ok {
				number[p] = len(number)
			}
			if got := m.F[i][0]; int(got) != number[p] || m.V[got] != p {
				t.Fatalf("point %d: number %d, want %d", i, got, number[p])
			}
		}
		if len(m.V) != len(number) {
			t.Fatalf("%d vertices, want %d", len(m.V), len(number))
		}
	})
}

// TestTableGrows: facets that share no corner have three times as many
// vertices as facets, six times what the table is made for.
func TestTableGrows(t *testing.T) {
	f := decoded(t, stlBytes("", 5000, repeat9(5000)...))
	if len(f.Mesh.V) != 15000 {
		t.Errorf("%d vertices, want 15000", len(f.Mesh.V))
	}
	for i, c := range f.Mesh.F {
		if c != [3]int32{int32(3 * i), int32(3*i + 1), int32(3*i + 2)} || f.Mesh.V[c[1]] != geom.V(1, 0, float64(i)) {
			t.Fatalf("facet %d = %v", i, c)
		}
	}
}

// ringOBJ is one polygon of n corners about the z axis, every second one
// drawn in by the factor inner.
func ringOBJ(n int, inner float64) []byte {
	var b strings.Builder
	for i := range n {
		r := 10.0
		if i%2 == 1 {
			r *= inner
		}
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		fmt.Fprintf(&b, "v %.17g %.17g 1\n", r*cos, r*sin)
	}
	b.WriteString("f")
	for i := range n {
		fmt.Fprintf(&b, " %d", i+1)
	}
	return []byte(b.String())
}

// TestLargePolygons: a round one is cut as a fan however many corners it has,
// a star of more than maxEars corners is refused. Area of a star of n corners
// with radii r, q: n/2 r q sin(2 pi/n).
func TestLargePolygons(t *testing.T) {
	for _, c := range []struct {
		n     int
		inner float64
	}{{3000, 1}, {maxEars, 0.5}} {
		m := decoded(t, ringOBJ(c.n, c.inner)).Mesh
		want := float64(c.n) / 2 * 100 * c.inner * math.Sin(2*math.Pi/float64(c.n))
		if len(m.F) != c.n-2 || math.Abs(m.Area()-want) > 1e-9 {
			t.Errorf("%d corners: %d facets, area %g, want %g", c.n, len(m.F), m.Area(), want)
		}
	}
	var ue *UnsupportedError
	if _, err := Decode(ringOBJ(maxEars+2, 0.5), "star"); !errors.As(err, &ue) {
		t.Errorf("star of %d corners: %v", maxEars+2, err)
	}
}
