package align

import (
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"
	"crownassay/internal/shape"
	"crownassay/mesh"
)

// oval is an arch whose middle line is half an ellipse, front at +y: half
// width 24 mm and length 45 mm, about those of a lower arch to its second
// molars (common practice); angles in degrees of the ellipse's parameter, 0
// and 180 at its ends, 90 at the front.
type oval struct{ from, to float64 }

const ovalWide, ovalLong = 24.0, 45.0

func (o oval) at(deg float64) geom.Vec {
	s, c := math.Sincos(deg * math.Pi / 180)
	return geom.V(ovalWide*c, ovalLong*s, 0)
}

// tangent is the unit tangent in the direction of growing angles; outward is
// square to it.
func (o oval) tangent(deg float64) geom.Vec {
	s, c := math.Sincos(deg * math.Pi / 180)
	return geom.V(-ovalWide*s, ovalLong*c, 0).Unit()
}

func (o oval) outward(deg float64) geom.Vec { return o.tangent(deg).Cross(geom.V(0, 0, 1)) }

// breadth of the teeth from cheek to tongue: 10.5 mm at the second molars, 6
// at the front (Ash and Nelson; from memory).
func breadthAt(deg float64) float64 { return 6 + 4.5*math.Abs(math.Cos(deg*math.Pi/180)) }

// teeth fills the band of the arch with points 4 to 6 mm above the finish line.
func (o oval) teeth() *mesh.Mesh {
	m := &mesh.Mesh{}
	for a := o.from; a <= o.to; a += 0.4 {
		b := breadthAt(a) / 2
		for x := -b; x <= b; x += 0.35 {
			m.V = append(m.V, o.at(a).Add(o.outward(a).Mul(x)).Add(geom.V(0, 0, 5+math.Cos(3*x))))
		}
	}
	return m
}

// frame stands on the arch, turned about its axis by any angle, in a pose.
func (o oval) frame(g geom.Rigid, deg float64, rng *rand.Rand) Frame {
	x := geom.V(rng.NormFloat64(), rng.NormFloat64(), 0)
	return NewFrame(g.Apply(o.at(deg)), g.Turn(geom.V(0, 0, 1)), g.Turn(x), 1)
}

// degrees between two unit vectors.
func degrees(a, b geom.Vec) float64 {
	return math.Atan2(a.Cross(b).Norm(), a.Dot(b)) * 180 / math.Pi
}

// TestFindArch: on an exact half ellipse the directions along and across are
// those of the curve. They are read from teeth over 17 mm to either side, over
// which a quadrant's curve is no parabola: within 8 degrees, much less than
// the 22.5 of half a sector.
func TestFindArch(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for _, c := range []struct {
		name  string
		arch  oval
		tooth float64
	}{
		{"whole arch, molar", oval{0, 180}, 25},
		{"whole arch, molar of the other side", oval{0, 180}, 155},
		{"whole arch, premolar", oval{0, 180}, 45},
		{"quadrant, molar", oval{0, 100}, 28},
		{"quadrant, premolar", oval{80, 180}, 135},
		{"front teeth", oval{45, 135}, 95},
	} {
		for range 3 {
			g := shape.Pose(rng)
			a := FindArch(c.arch.teeth().Move(g), c.arch.frame(g, c.tooth, rng))
			if !a.Known {
				t.Fatalf("%s: %s", c.name, a.Why)
			}
			if d := degrees(a.Lingual, g.Turn(c.arch.outward(c.tooth).Neg())); d > 8 {
				t.Errorf("%s: lingual is %.1f degrees off", c.name, d)
			}
			tan := g.Turn(c.arch.tangent(c.tooth))
			if d := math.Min(degrees(a.Along, tan), degrees(a.Along.Neg(), tan)); d > 8 {
				t.Errorf("%s: along is %.1f degrees off", c.name, d)
			}
			if !near(a.Along.Dot(a.Lingual), 0, 1e-9) {
				t.Errorf("%s: along and lingual are not square", c.name)
			}
		}
	}
}

// TestFront: on a whole arch the front lies on the longer side. In a quadrant
// it is told from the teeth's breadth, or not at all, but never wrongly; a
// front tooth has none.
func TestFront(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 4))
	for _, c := range []struct {
		name    string
		arch    oval
		tooth   float64
		forward float64 // along growing angles; 0 when not to be known
		told    bool    // must be told
	}{
		{"whole arch, molar", oval{0, 180}, 20, 1, true},
		{"whole arch, other molar", oval{0, 180}, 160, -1, true},
		{"whole arch, premolar", oval{0, 180}, 50, 1, true},
		{"quadrant, molar", oval{0, 90}, 30, 1, false},
		{"other quadrant, molar", oval{90, 180}, 150, -1, false},
		{"quadrant, premolar", oval{15, 110}, 55, 1, false},
		{"front", oval{0, 180}, 90, 0, false},
	} {
		g := shape.Pose(rng)
		a := FindArch(c.arch.teeth().Move(g), c.arch.frame(g, c.tooth, rng))
		if c.told && !a.FrontKnown || c.forward == 0 && a.FrontKnown {
			t.Errorf("%s: front known = %v", c.name, a.FrontKnown)
		}
		if a.FrontKnown && a.Front.Dot(g.Turn(c.arch.tangent(c.tooth)))*c.forward < 0.9 {
			t.Errorf("%s: front points the wrong way", c.name)
		}
	}
}

// TestLastTooth: with teeth on one side only, that side is told, along the
// curve through the preparation and them.
func TestLastTooth(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 4))
	for _, c := range []struct {
		arch  oval
		tooth float64
	}{{oval{4, 75}, 4}, {oval{12, 90}, 14}, {oval{20, 120}, 24}} {
		g := shape.Pose(rng)
		a := FindArch(c.arch.teeth().Move(g), c.arch.frame(g, c.tooth, rng))
		if d := degrees(a.Only, g.Turn(c.arch.tangent(c.tooth))); !a.Known || a.Only.NormSq() == 0 || d > 8 {
			t.Errorf("%+v: only = %v, %.1f degrees off; %s", c, a.Only, d, a.Why)
		}
	}
}

// TestNoArch: what does not tell is not guessed.
func TestNoArch(t *testing.T) {
	row := &mesh.Mesh{}
	for x := -20.0; x <= 20; x += 0.3 {
		for y := -4.0; y <= 4; y += 0.3 {
			row.V = append(row.V, geom.V(x, y, 5))
		}
	}
	few := &mesh.Mesh{V: row.V[:30]}
	low := shape.Plate(1, 20, 1)
	for name, m := range map[string]*mesh.Mesh{"straight row": row, "few points": few, "gingiva only": low} {
		a := FindArch(m, NewFrame(geom.Vec{}, geom.V(0, 0, 1), geom.V(1, 0, 0), 1))
		if a.Known || a.Why == "" {
			t.Errorf("%s: known, inner side %v", name, a.Lingual)
		}
	}
	short := oval{60, 75}
	if a := FindArch(short.teeth(), short.frame(geom.Still(), 67, rand.New(rand.NewPCG(1, 1)))); a.Known || a.FrontKnown {
		t.Errorf("two teeth tell the arch: %+v", a)
	}
}
