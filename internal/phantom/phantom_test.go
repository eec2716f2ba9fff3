package phantom

import (
	"context"
	"math"
	"reflect"
	"testing"

	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
)

// within fails the test when got is farther than tol from want.
func within(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.9g, want %.9g within %.1g", what, got, want, tol)
	}
}

func surveyOf(t *testing.T, p *prep) *survey {
	t.Helper()
	s, err := newSurvey(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// round is a cone frustum with a chamfer: constant values round the tooth.
func round(taper, width, height float64) *prep {
	one := func(v float64) series { return series{c: []float64{v}, s: []float64{0}} }
	return &prep{
		radius: one(5), finish: even(0), width: &band{base: even(width)}, taper: one(taper),
		corner: one(height), rise: one(0), centre: height, round: &band{base: even(0.3)}, fillet: 1,
		sulcus: even(0.7), crest: even(0.3), border: func(float64) (float64, float64) { return 8, -3 },
	}
}

// The closed forms of a frustum: axis and window by symmetry; convergence
// twice the wall's inclination; retention area pi (R1+R2) sqrt(H^2+(R1-R2)^2)
// for the straight wall (solid geometry), here integrated over the same wall;
// a torus of tube radius 0.3 has no sharper curvature than 1/0.3.
func TestFrustum(t *testing.T) {
	for _, deg := range []float64{3, 6, 12} {
		taper := deg * degree
		p := round(taper, 1, 4)
		s := surveyOf(t, p)
		within(t, "tilt", math.Acos(math.Min(1, s.axis.Z)), 0, 1e-5)
		tr := Truth{Readings: map[string]float64{}, Places: map[string][3]float64{}}
		s.preparation(&tr)
		r := tr.Readings
		within(t, "convergence mean", r["preparation.convergence.mean"], 2*deg, 1e-4)
		within(t, "convergence md", r["preparation.convergence.mesiodistal"], 2*deg, 1e-4)
		within(t, "window", r["preparation.placement.window"], deg, 1e-4)
		within(t, "width min", r["finish_line.width.min"], 1, 1e-6)
		within(t, "width mean", r["finish_line.width.mean"], 1, 1e-6)
		within(t, "length", r["finish_line.length"], 2*math.Pi*5, 1e-4)
		within(t, "line angle radius", r["preparation.line_angle.radius"], 0.3, 1e-4)
		within(t, "undercut", r["preparation.undercut.depth"], 0, 0)
		within(t, "straight wall", wallArea(p), frustumArea(p), 1e-3)
		within(t, "height", r["preparation.height.min"], lineHeight(taper, 4, 0.3), 1e-6)
	}
}

// wallArea is the area of the straight wall by the survey's normals.
func wallArea(p *prep) float64 {
	a := 0.0
	for _, w := range wallPatches(p) {
		a += w.area
	}
	return a
}

// frustumArea is the closed form between the two tangent points.
func frustumArea(p *prep) float64 {
	s := p.section(0)
	lo, hi := s.end[segFillet], s.end[segWall]
	return math.Pi * (lo.r + hi.r) * math.Hypot(hi.z-lo.z, lo.r-hi.r)
}

// lineHeight is where a circle of the given radius that touches a level top
// at the height h is inclined 45 degrees: its centre is h - radius high.
func lineHeight(taper, h, radius float64) float64 {
	return h - radius + radius*math.Sin(math.Pi/4)
}

// Parker's heights above which a wall resists, (B/2) sin 2T, and the limiting
// average taper of B 10, H 3: TOC 17.458 degrees (computed from the formula as
// cited in Goodacre et al. 2001, J Prosthet Dent 85:363).
func TestResistanceOfFrustum(t *testing.T) {
	within(t, "limiting taper", 2*limitingTaper(3, 10), 17.458, 5e-4)
	for _, deg := range []float64{3, 5, 8} {
		s := surveyOf(t, round(deg*degree, 1e-3, 4))
		f := s.cuts[0].space(uFinish)
		opposite := s.wall[179:181]
		want := 5 * math.Sin(2*deg*degree)
		for _, w := range opposite {
			for _, q := range w {
				if math.Abs(q.p.Z-want) < 0.1 || q.n.Z > math.Sin(deg*degree)+1e-3 {
					continue
				}
				stop := geom.Vec{Y: -1}.Cross(q.p.Sub(f)).Dot(q.n) < 0
				if up := (geom.Vec{Y: -1}).Cross(q.p.Sub(f)).Z; up < 0 {
					stop = (geom.Vec{Y: 1}).Cross(q.p.Sub(f)).Dot(q.n) < 0
				}
				if stop != (q.p.Z > want) {
					t.Fatalf("taper %g: wall at height %g blocks %v, want it above %g", deg, q.p.Z, stop, want)
				}
			}
		}
	}
}

// A frustum leaned as a whole: its axis is the symmetry axis wherever the
// walls' inclinations differ by side only through the lean. Tapers 9 and 3 on
// opposite sides of a slab-like wall give an axis leaned by 3 degrees.
func TestPlacementBetweenUnequalWalls(t *testing.T) {
	p := round(6*degree, 1, 4)
	p.taper = fitSeries(sides{m: 9 * degree, b: 12 * degree, d: 3 * degree, l: 12 * degree}.at, 12)
	s := surveyOf(t, p)
	within(t, "lean to mesial", math.Atan2(s.axis.X, s.axis.Z)/degree, -3, 0.35)
	least := math.Inf(1)
	for _, w := range s.normals {
		least = math.Min(least, w.n.Dot(s.axis))
	}
	for i := range 12 {
		sn, cs := math.Sincos(float64(i) * 30 * degree)
		d := s.axis.Add(s.m.Mul(1e-3 * cs)).Add(s.b.Mul(1e-3 * sn)).Unit()
		other := math.Inf(1)
		for _, w := range s.normals {
			other = math.Min(other, w.n.Dot(d))
		}
		if other > least {
			t.Errorf("leaning the axis by 1 mrad to %d deg frees the walls more: %g > %g", i*30, other, least)
		}
	}
}

// edges counts how often each directed edge occurs.
func edges(m *mesh.Mesh) map[[2]int32]int {
	e := map[[2]int32]int{}
	for _, f := range m.F {
		for k := range 3 {
			e[[2]int32{f[k], f[(k+1)%3]}]++
		}
	}
	return e
}

// checkSheet wants every directed edge once (manifold and consistently
// turned) and returns the number of border edges.
func checkSheet(t *testing.T, what string, m *mesh.Mesh) int {
	t.Helper()
	border := 0
	e := edges(m)
	for k, n := range e {
		if n != 1 || k[0] == k[1] {
			t.Fatalf("%s: directed edge %v occurs %d times", what, k, n)
		}
		if e[[2]int32{k[1], k[0]}] == 0 {
			border++
		}
	}
	return border
}

func TestSheetsAreManifold(t *testing.T) {
	for _, spec := range []Spec{
		{Tooth: "46", Triangles: 30000, Seed: 1}, {Tooth: "11", Triangles: 30000, Seed: 2},
		{Tooth: "26", Triangles: 60000, Seed: 3, FullArch: true, RandomPose: true, Shuffled: true},
		{Tooth: "34", Edge: 0.5, Seed: 4}, {Tooth: "17", Aligned: true, Triangles: 30000, Seed: 5},
	} {
		c, err := Build(context.Background(), spec)
		if err != nil {
			t.Fatal(err)
		}
		for what, m := range map[string]*mesh.Mesh{"prepared": c.Prepared, "opposing": c.Opposing} {
			border := checkSheet(t, spec.Tooth+" "+what, m)
			// An open disc: V - E + F = 1.
			if x := len(m.V) - (3*len(m.F)+border)/2 + len(m.F); x != 1 {
				t.Errorf("%s %s: Euler characteristic %d, want 1", spec.Tooth, what, x)
			}
		}
	}
}

func TestClosedShell(t *testing.T) {
	c, err := Build(context.Background(), Spec{Tooth: "46", Triangles: 30000, Defects: []Defect{{Kind: ClosedShell}}})
	if err != nil {
		t.Fatal(err)
	}
	if b := checkSheet(t, "shell", c.Prepared); b != 0 {
		t.Errorf("closed shell has %d border edges", b)
	}
	if v := c.Prepared.Volume(); v < 50 || v > 500 {
		t.Errorf("crown volume %g mm^3, want something between 50 and 500", v)
	}
}

// Facets of the prepared surface face the occlusal, those of the opposing one
// face it, in every quadrant; and the directions have the contract's hand.
func TestDirections(t *testing.T) {
	for _, tooth := range []string{"16", "26", "36", "46", "11", "42"} {
		c, err := Build(context.Background(), Spec{Tooth: tooth, Triangles: 20000, RandomPose: true, Seed: 7})
		if err != nil {
			t.Fatal(err)
		}
		up := vec(c.Truth.Placement)
		if v := facing(c.Prepared).Dot(up); v <= 0 {
			t.Errorf("%s: prepared surface faces %g along the axis, want up", tooth, v)
		}
		if v := facing(c.Opposing).Dot(up); v >= 0 {
			t.Errorf("%s: opposing surface faces %g along the axis, want down", tooth, v)
		}
		want := 1.0
		if tooth[0] == '1' || tooth[0] == '3' {
			want = -1
		}
		within(t, tooth+" (m x b).o", vec(c.Truth.Mesial).Cross(vec(c.Truth.Buccal)).Dot(up), want, 1e-9)
	}
}

func vec(v [3]float64) geom.Vec { return geom.Vec{X: v[0], Y: v[1], Z: v[2]} }

// facing is the sum of the facets' area vectors.
func facing(m *mesh.Mesh) geom.Vec {
	var s geom.Vec
	for f := range m.F {
		s = s.Add(geom.TriangleNormal(m.Corner(int32(f))))
	}
	return s
}

// The mesh's vertices on a natural crown lie on its level set; those on the
// prepared tooth's wall on the straight line of their azimuth's profile.
func TestVerticesLieOnFormula(t *testing.T) {
	c, err := Build(context.Background(), Spec{Tooth: "46", Triangles: 40000, Seed: 3})
	if err != nil {
		t.Fatal(err)
	}
	for _, th := range c.model.prepared.teeth {
		n, ok := th.sheet.(*natural)
		if !ok {
			onWall(t, c, th)
			continue
		}
		for i, at := range th.at {
			if at.q > n.crownQ {
				continue
			}
			p := th.frame.toTooth(c.Prepared.V[th.first+i])
			if v := n.level(p); math.Abs(v) > 1e-9 {
				t.Fatalf("tooth %d vertex %d is %g off its crown", th.slot, i, v)
			}
		}
	}
}

// onWall checks the wall's vertices by their own azimuth: r falls with z by the
// tangent of the taper from the width's end at the finish line's height.
func onWall(t *testing.T, c *Case, th *tooth) {
	s := th.sheet.(*prepSheet)
	n := 0
	for i, at := range th.at {
		if u := s.u(at.q); u < segWall+0.01 || u > segWall+0.99 {
			continue
		}
		v := th.frame.toTooth(c.Prepared.V[th.first+i])
		a := math.Atan2(v.Y, v.X)
		r := s.radius.at(a) - s.width.at(a) - (v.Z-s.prep.finish.at(a))*math.Tan(s.taper.at(a))
		within(t, "wall radius", math.Hypot(v.X, v.Y), r, 1e-9)
		n++
	}
	if n < 100 {
		t.Errorf("%d vertices on the wall, want many", n)
	}
}

// The same spec gives the same case, to the bit, for any number of workers.
func TestSameSpecSameCase(t *testing.T) {
	defer func() { par.Workers = 0 }()
	spec := Spec{Tooth: "24", Triangles: 20000, Seed: 5, Noise: 0.01, Shuffled: true}
	par.Workers = 1
	a, err := Build(context.Background(), spec)
	if err != nil {
		t.Fatal(err)
	}
	par.Workers = 4
	b, err := Build(context.Background(), spec)
	if err != nil {
		t.Fatal(err)
	}
	for i := range a.Prepared.V {
		if a.Prepared.V[i] != b.Prepared.V[i] {
			t.Fatalf("vertex %d differs", i)
		}
	}
	if !reflect.DeepEqual(a.Truth, b.Truth) {
		t.Error("truth differs")
	}
}
