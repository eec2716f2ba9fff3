package foreign

import (
	"math"

	"crownassay/geom"
)

// Beside is a scene around a preparation: what stands beside it.
type Beside struct {
	Gap   float64 // from the finish line to the neighbours' flat sides, mm
	Curve float64 // radius of the arch, mm; 0 a straight row
	Count int     // teeth to either side
	Boxes bool    // rounded boxes, not superellipsoids
	Base  float64 // height of the gingiva, mm
}

// toothHalf is half the size of a neighbour.
var toothHalf = geom.V(4.2, 4.6, 6)

// Teeth returns the neighbours of a preparation of half breadth a on an arch
// that curves toward -y. The nearest sides lie Gap from the finish line at
// azimuths 0 and 180.
func (b Beside) Teeth(a float64) Field {
	var fs []Field
	for _, side := range []float64{-1, 1} {
		for i := range b.Count {
			at := a + b.Gap + toothHalf.X + float64(i)*(2*toothHalf.X+0.1)
			fs = append(fs, Placed(b.tooth(), b.place(side*at)))
		}
	}
	return Union(fs...)
}

func (b Beside) tooth() Field {
	if b.Boxes {
		return RoundedBox(geom.V(0, 0, 0), toothHalf, 1)
	}
	return Superellipsoid(geom.V(0, 0, 0), toothHalf, 4)
}

// place stands a tooth at an arc length along the arch.
func (b Beside) place(along float64) geom.Rigid {
	if b.Curve == 0 {
		return geom.Rigid{R: geom.Identity(), T: geom.V(along, 0, 0)}
	}
	t := along / b.Curve
	return geom.Rigid{R: geom.RotationAbout(geom.V(0, 0, 1), -t), T: geom.V(b.Curve*math.Sin(t), b.Curve*(math.Cos(t)-1), 0)}
}

// Gingiva is a body of half breadth w under the arch that rises to Base and
// is rounded beside it.
func (b Beside) Gingiva(w float64) Field {
	return func(p geom.Vec) float64 {
		y := p.Y
		if b.Curve > 0 {
			y = math.Hypot(p.X, p.Y+b.Curve) - b.Curve
		}
		return p.Z - b.Base + 0.05*y*y*math.Max(0, math.Abs(y)-w+3)/3
	}
}

// Whole is a natural tooth standing free on an arch: a crown with its bulge
// above a neck of the given share of the crown's breadth.
func Whole(half geom.Vec, neck, exponent float64) Field {
	crown := Superellipsoid(geom.V(0, 0, half.Z), half, exponent)
	root := Placed(func(p geom.Vec) float64 {
		return (math.Hypot(p.X/half.X, p.Y/half.Y) - neck) * math.Min(half.X, half.Y)
	}, geom.Still())
	return Blend(crown, Meet(root, Below(geom.V(0, 0, half.Z), geom.V(0, 0, 1))), 1)
}
