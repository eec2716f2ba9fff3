package foreign

import (
	"math"

	"crownassay/geom"
)

// Field is a signed function of a solid: negative inside. Only its sign and
// its zero are exact; the size is roughly a distance.
type Field func(p geom.Vec) float64

// Below is the half space under the plane through p with upward normal n.
func Below(p, n geom.Vec) Field {
	n = n.Unit()
	return func(q geom.Vec) float64 { return q.Sub(p).Dot(n) }
}

// Ball is a sphere.
func Ball(c geom.Vec, r float64) Field {
	return func(q geom.Vec) float64 { return q.Dist(c) - r }
}

// Superellipsoid is |x/a|^n + |y/b|^n + |z/c|^n = 1 about a middle; n 2 is an
// ellipsoid, larger ones come near a box.
func Superellipsoid(mid, half geom.Vec, n float64) Field {
	return func(q geom.Vec) float64 {
		d := q.Sub(mid)
		s := math.Pow(math.Abs(d.X/half.X), n) + math.Pow(math.Abs(d.Y/half.Y), n) + math.Pow(math.Abs(d.Z/half.Z), n)
		return (math.Pow(s, 1/n) - 1) * math.Min(half.X, math.Min(half.Y, half.Z))
	}
}

// RoundedBox is a box with edges of a radius (a true distance).
func RoundedBox(mid, half geom.Vec, radius float64) Field {
	return func(q geom.Vec) float64 {
		d := q.Sub(mid)
		x, y, z := math.Abs(d.X)-half.X+radius, math.Abs(d.Y)-half.Y+radius, math.Abs(d.Z)-half.Z+radius
		out := geom.V(math.Max(x, 0), math.Max(y, 0), math.Max(z, 0)).Norm()
		return out + math.Min(math.Max(x, math.Max(y, z)), 0) - radius
	}
}

// Torus lies in the plane z of its middle.
func Torus(mid geom.Vec, ring, tube float64) Field {
	return func(q geom.Vec) float64 {
		d := q.Sub(mid)
		return math.Hypot(math.Hypot(d.X, d.Y)-ring, d.Z) - tube
	}
}

// Tube is an upright cylinder without ends.
func Tube(x, y, r float64) Field {
	return func(q geom.Vec) float64 { return math.Hypot(q.X-x, q.Y-y) - r }
}

// Union, Meet and Less join solids.
func Union(fs ...Field) Field {
	return func(q geom.Vec) float64 {
		v := math.Inf(1)
		for _, f := range fs {
			v = math.Min(v, f(q))
		}
		return v
	}
}

// Meet is what lies in all of the solids.
func Meet(fs ...Field) Field {
	return func(q geom.Vec) float64 {
		v := math.Inf(-1)
		for _, f := range fs {
			v = math.Max(v, f(q))
		}
		return v
	}
}

// Less is f without g.
func Less(f, g Field) Field {
	return func(q geom.Vec) float64 { return math.Max(f(q), -g(q)) }
}

// Blend is a union with a rounded valley of width k (polynomial minimum).
func Blend(f, g Field, k float64) Field {
	return func(q geom.Vec) float64 {
		a, b := f(q), g(q)
		h := math.Max(0, k-math.Abs(a-b)) / k
		return math.Min(a, b) - h*h*k/4
	}
}

// Placed is the solid moved by g.
func Placed(f Field, g geom.Rigid) Field {
	back := g.Inverse()
	return func(q geom.Vec) float64 { return f(back.Apply(q)) }
}
