package align

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"crownassay/geom"
)

// Condition says how firmly two surfaces hold each other: the normal matrix of
// point-to-plane distances over their overlap, per point, with rotations about
// Center measured as displacements at the distance Size. An eigenvalue is the
// mean square of the cosine between the surface's normal and the displacement
// that its eigenvector makes: 1/3 in all directions for the translations of a
// sphere, 0 for what slides along itself.
// Source: N. Gelfand, L. Ikemoto, S. Rusinkiewicz, M. Levoy, Geometrically
// stable sampling for the ICP algorithm, 3-D Digital Imaging and Modeling 2003,
// 260-267.
type Condition struct {
	Center  geom.Vec      // in the frame of the fixed surface
	Size    float64       // mm: root mean square distance from the center
	Values  [6]float64    // rising
	Vectors [6][6]float64 // row i belongs to Values[i]: rotation (rad times Size), then displacement
	Free    []string      // what the surfaces leave open, in words; empty when they hold each other
	Open    int           // how many freedoms are left open, the first of Values
}

// leastHold is the eigenvalue below which a freedom counts as open: normals
// that stand square to the displacement within 1.8 degrees (0.03 rad)
// everywhere. Noise of 10 um tilts the normals of 0.6 mm samples by less;
// with a larger value the rotation of a nearly round preparation is called
// open, with a smaller one noise holds a body of revolution.
const leastHold = 1e-3

// conditionOf reads the condition from the normal equations of rows about v.
func conditionOf(e *normalEq, v pivot) (Condition, bool) {
	values, vectors, ok := e.eigen()
	if !ok {
		return Condition{}, false
	}
	c := Condition{Center: v.center, Size: v.size, Values: values}
	for i := range vectors {
		c.Vectors[i] = vectors[i]
		if values[i] < leastHold {
			c.Open++
		}
	}
	c.Free = freedoms(vectors[:c.Open], v)
	return c, true
}

// held returns the directions that the surfaces hold.
func (c *Condition) held() []vec6 {
	var out []vec6
	for _, v := range c.Vectors[c.Open:] {
		out = append(out, v)
	}
	return out
}

// turnless is the share of rotation below which an open freedom is said to be
// sliding.
const turnless = 0.1

// freedoms says in words what motions the orthonormal open directions span:
// first slides, then turns about an axis.
func freedoms(open []vec6, v pivot) []string {
	var out []string
	n := len(open)
	if n == 0 {
		return nil
	}
	g := mat.NewSymDense(n, nil)
	for i := range open {
		for k := i; k < n; k++ {
			g.SetSym(i, k, rotation(open[i]).Dot(rotation(open[k])))
		}
	}
	var e mat.EigenSym
	if !e.Factorize(g, true) {
		return []string{"some motion"}
	}
	var q mat.Dense
	e.VectorsTo(&q)
	for i, turn := range e.Values(nil) {
		var x vec6
		for k := range open {
			for c := range x {
				x[c] += float64(q.At(k, i) * open[k][c])
			}
		}
		out = append(out, freedom(x, math.Sqrt(max(turn, 0)), v))
	}
	return out
}

func rotation(x vec6) geom.Vec     { return geom.V(x[0], x[1], x[2]) }
func displacement(x vec6) geom.Vec { return geom.V(x[3], x[4], x[5]) }

// freedom says what one open direction is; turn is its share of rotation. The
// axis of a turn passes the center at (w x t) / w^2 (screw axis of a twist).
func freedom(x vec6, turn float64, v pivot) string {
	if turn < turnless {
		return "sliding along " + words(displacement(x).Unit())
	}
	w := rotation(x).Mul(1 / v.size)
	d := displacement(x)
	at := v.center.Add(w.Cross(d).Mul(1 / w.NormSq()))
	axis := w.Unit()
	pitch := d.Dot(axis) / w.Norm()
	s := fmt.Sprintf("turning about %s through %s", words(axis), words(at))
	if math.Abs(pitch) > turnless*v.size {
		s += fmt.Sprintf(" while sliding %.1f mm a radian", pitch)
	}
	return s
}

func words(v geom.Vec) string { return fmt.Sprintf("(%.2f, %.2f, %.2f)", v.X, v.Y, v.Z) }
