package geom

import "math"

// Box is an axis-parallel box. The empty box is +Inf to -Inf, so that a flat
// box is not taken for an empty one; make it with EmptyBox.
type Box struct{ Min, Max Vec }

// EmptyBox returns the box that holds nothing.
func EmptyBox() Box {
	inf := math.Inf(1)
	return Box{Vec{inf, inf, inf}, Vec{-inf, -inf, -inf}}
}

// Empty reports whether the box holds no point.
func (b Box) Empty() bool {
	return b.Min.X > b.Max.X || b.Min.Y > b.Max.Y || b.Min.Z > b.Max.Z
}

// Include returns the smallest box that holds b and p.
func (b Box) Include(p Vec) Box {
	return Box{
		Vec{min(b.Min.X, p.X), min(b.Min.Y, p.Y), min(b.Min.Z, p.Z)},
		Vec{max(b.Max.X, p.X), max(b.Max.Y, p.Y), max(b.Max.Z, p.Z)},
	}
}

// Size returns the edge lengths; zero for the empty box.
func (b Box) Size() Vec {
	if b.Empty() {
		return Vec{}
	}
	return b.Max.Sub(b.Min)
}

// Center returns the middle of the box.
func (b Box) Center() Vec { return b.Min.Add(b.Max).Mul(0.5) }

// Diagonal returns the length of the space diagonal; zero for the empty box.
func (b Box) Diagonal() float64 { return b.Size().Norm() }

// Grow returns the box enlarged by d on every side.
func (b Box) Grow(d float64) Box {
	return Box{b.Min.Sub(Vec{d, d, d}), b.Max.Add(Vec{d, d, d})}
}

// DistSq returns the squared distance from p to the box, 0 inside.
func (b Box) DistSq(p Vec) float64 {
	d := Vec{outside(p.X, b.Min.X, b.Max.X), outside(p.Y, b.Min.Y, b.Max.Y), outside(p.Z, b.Min.Z, b.Max.Z)}
	return d.NormSq()
}

func outside(x, lo, hi float64) float64 {
	if x < lo {
		return lo - x
	}
	if x > hi {
		return x - hi
	}
	return 0
}
