package phantom

import (
	"context"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// Every defect shows in the truth as what it was asked to be. Many fit on one
// crown, far enough from one another.
func TestCrownDefectsAreWhatWasAsked(t *testing.T) {
	c := build(t, Spec{Tooth: "46", Seed: 3, Triangles: 20000, Tall: 1, RandomPose: true, Shuffled: true,
		Crown: &Crown{Triangles: 20000}, Defects: []Defect{
			{Kind: HeavyContact, Amount: 0.08}, {Kind: OpenContact, Azimuth: 180, Amount: 0.15}, {Kind: Overhang, Azimuth: 270, Amount: 0.25},
			{Kind: ShortMargin, Azimuth: 90, Amount: 0.15}, {Kind: HighSpot, Azimuth: 225, Amount: 0.12}, {Kind: ThinFossa, Amount: 0.4},
			{Kind: OldOverhang, Azimuth: 270, Amount: 0.6}, {Kind: OldContour, Azimuth: 90, Amount: 0.7}}})
	r := c.Truth.Readings
	within(t, "heavy contact", r["crown.contact.mesial"], -0.08, 1e-3)
	within(t, "open contact", r["crown.contact.distal"], 0.15, 1e-3)
	within(t, "high spot", r["crown.contact.occlusal"], -0.12, 1e-3)
	within(t, "overhang", r["crown.contour.overhang.max"], 0.25, 2e-3)
	within(t, "short margin", r["crown.contour.overhang.min"], -0.15, 2e-3)
	within(t, "thin fossa", r["crown.thickness.occlusal"], 0.4, 1e-3)
	within(t, "old overhang", r["existing.contour.overhang.max"], 0.6, 2e-3)
	if e := r["existing.contour.emergence.max"]; e < r["crown.contour.emergence.max"]+10 {
		t.Errorf("old over-contour emerges at %g degrees, want far more than the new crown's", e)
	}
	onMargin(t, c.Truth.Crown.Margin, c.Crown)
	onMargin(t, c.Truth.Existing.Margin, c.Before)
	checkShell(t, "crown", c.Crown)
	checkSheet(t, "before", c.Before)
	if n := crossings(c.Crown); n != 0 {
		t.Errorf("%d pairs of facets cross, want none", n)
	}
}

// onMargin wants the margin edge to run along the mesh: no point of it farther
// from a vertex than the mean edge of even triangles of the mesh's size.
func onMargin(t *testing.T, margin [][3]float64, m *mesh.Mesh) {
	t.Helper()
	edge := math.Sqrt(m.Area() / float64(len(m.F)) * 4 / math.Sqrt(3))
	for i := 0; i < len(margin); i += 40 {
		d := math.Inf(1)
		for _, v := range m.V {
			d = math.Min(d, v.Dist(vec(margin[i])))
		}
		if d > edge {
			t.Errorf("margin edge point %d lies %g mm from the nearest vertex", i, d)
		}
	}
}

func TestCavityDefectsAreWhatWasAsked(t *testing.T) {
	c := build(t, Spec{Tooth: "46", Seed: 3, Triangles: 20000, Tall: 1,
		Crown: &Crown{Triangles: 20000, Finished: &Made{Own: true}}, Defects: []Defect{
			{Kind: TightCavity, Azimuth: 90, Amount: 0.04}, {Kind: OpenMargin, Azimuth: 270, Amount: 0.15},
			{Kind: Binds}, {Kind: RidgeStep, Azimuth: 180}, {Kind: MillingError, Amount: 0.01}}})
	r := c.Truth.Readings
	within(t, "tight cavity", r["crown.fit.interference"], 0.04, 1e-3)
	within(t, "open margin", r["crown.fit.marginal_gap.max"], 0.15, 1e-3)
	if v := r["crown.seating.clearance"]; v > -0.1 || c.Truth.Crown.BindsOn != "mesial" || c.Truth.Crown.BindsAt < 1 {
		t.Errorf("binds: clearance %g on %s at %g, want under -0.1 on the mesial neighbour above 1", v, c.Truth.Crown.BindsOn, c.Truth.Crown.BindsAt)
	}
	if v := r["crown.ridge.step.distal"]; v > -0.4 {
		t.Errorf("lowered ridge has a step of %g, want under -0.4", v)
	}
	if v := r["finished.deviation.rms"]; v < 0.006 || v > 0.011 {
		t.Errorf("milling error of 0.01 has an RMS of %g", v)
	}
	g := c.Truth.Finished.OwnPose
	if g == nil {
		t.Fatal("the milled copy has no pose of its own")
	}
	onMargin(t, c.Truth.Finished.Margin, c.Finished.Move(g.Inverse()))
}

// What a ball leaves in an edge between two walls that include the angle a and
// are rounded by re, (r - re)(1/sin(a/2) - 1): elementary geometry of circles
// inscribed in an angle. On a frustum the line angle is such an edge.
func TestToolInEdge(t *testing.T) {
	for _, taper := range []float64{3, 10} {
		p := round(taper*degree, 1, 4)
		p.round = &band{base: even(0.15)}
		const space = 0.05
		c, err := (Crown{Gap: Round{Base: space}, Wall: space, Occlusal: space}).complete()
		if err != nil {
			t.Fatal(err)
		}
		i, err := newIntaglio(context.Background(), p, c, func(float64) float64 { return 0 })
		if err != nil {
			t.Fatal(err)
		}
		for _, tool := range []float64{0.4, 0.8} {
			got, _ := i.left(1, tool)
			a := (90 + taper) * degree
			within(t, "left", got, (tool-0.15-space)*(1/math.Sin(a/2)-1), 5e-4)
		}
		got, _ := i.left(1, 0.15)
		within(t, "nothing left", got, 0, 1e-5)
	}
}

// On a cone that widens upward by the angle b from its margin edge, the
// profile emerges at b and reaches height times tan b beyond the margin.
func TestContourOfCone(t *testing.T) {
	p := round(6*degree, 1, 4)
	s := surveyOf(t, p)
	const b, over, height = 12 * degree, 0.07, 6.0
	level := func(q geom.Vec) float64 {
		return math.Max((math.Hypot(q.X, q.Y)-5-over-q.Z*math.Tan(b))*math.Cos(b), q.Z-height)
	}
	o, err := newCameo(context.Background(), outer{level, height, cameoFade}, p, func(float64) point2 { return point2{5 + over, 0} })
	if err != nil {
		t.Fatal(err)
	}
	c, err := newContour(context.Background(), o, s)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < 360; i += 30 {
		k := &c.sections[i]
		within(t, "overhang", k.horizontal(), over, 1e-5)
		within(t, "emergence", k.emergence, 12, 1e-3)
		within(t, "bulge", k.bulge, height*math.Tan(b), 1e-4)
		within(t, "height of the bulge", k.bulgeAt, height, 1e-3)
		within(t, "0.5 mm up", k.at(k.shareHalf).z, marginBand, 1e-3)
	}
}

// The deviation along the normal agrees with the nearest place of the design.
func TestDeviationAgainstNearest(t *testing.T) {
	r := restorationOf(t, sound(t))
	rng := rand.New(rand.NewPCG(1, 2))
	made := r.milled(newWave(&Made{Error: 0.02, Wave: 2.5}, rng))
	for range 60 {
		for _, s := range [][2]sheet{{r.out, made.out}, {r.in, made.in}} {
			w := param{2 * math.Pi * rng.Float64(), s[0].span() * (0.05 + 0.85*rng.Float64())}
			_, d := foot(s[0], s[1].point(w.a, w.q), w, 0.05)
			// Its slope of up to 0.1 costs half its square.
			within(t, "deviation", math.Abs(deviate(s[0], s[1], w).d), d, 1e-4+0.01*d)
		}
	}
}

// The best rigid motion leaves nothing of a small rigid motion.
func TestSettled(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	shift, spin := geom.V(0.01, -0.02, 0.005), geom.V(0.001, 0.002, -0.003)
	all := make([]deviates, 500)
	for i := range all {
		v := geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64())
		n := geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()).Unit()
		all[i] = deviates{p: v, n: n, d: shift.Add(spin.Cross(v)).Dot(n), area: rng.Float64()}
	}
	settled(all)
	within(t, "rest", rms(all), 0, 1e-12)
}

// What is wrong with a file as a whole is what its name says.
func TestFaultyShells(t *testing.T) {
	c := *sound(t)
	r := restorationOf(t, &c)
	spec := *c.Spec.Crown
	c.Spec.Crown = &spec
	whole := c.Crown.Volume()
	shell := func(kind string) *mesh.Mesh {
		spec.Shell = kind
		m, err := c.faulty(context.Background(), r)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	within(t, "inverted volume", shell(ShellInverted).Volume(), -whole, 1e-9)
	if b := checkSheet(t, "open", shell(ShellOpen)); b < 100 {
		t.Errorf("outer surface has %d border edges, want its margin", b)
	}
	solid := shell(ShellSolid)
	if b := checkSheet(t, "solid", solid); b != 0 || solid.Volume() < 1.3*whole {
		t.Errorf("solid block has %d border edges and %g mm^3, want none and more than the crown's %g", b, solid.Volume(), whole)
	}
	if m := shell(ShellSeveral); checkSheet(t, "several", m) != 0 || len(m.V)-len(m.F)/2 != 4 {
		t.Errorf("two pieces: Euler characteristic %d, want 4", len(m.V)-len(m.F)/2)
	}
	up := c.model.turnToFile(geom.Vec{Z: 1})
	within(t, "upside down", facing(halfOf(shell(ShellUpside))).Unit().Dot(up), -facing(halfOf(c.Crown)).Unit().Dot(up), 1e-6)
	if d := shell(ShellAway).Box().Center().Dist(c.Crown.Box().Center()); d < 3 {
		t.Errorf("crown in another frame lies %g mm from its place", d)
	}
	checkShell(t, "other", shell(ShellOther))
}

// halfOf is the outer surface of a shell that was not shuffled.
func halfOf(m *mesh.Mesh) *mesh.Mesh { return &mesh.Mesh{V: m.V, F: m.F[:len(m.F)/2]} }

func TestCrossingShell(t *testing.T) {
	s, err := (Spec{Tooth: "46", Seed: 3, Tall: 1, Crown: &Crown{Triangles: 20000}, Defects: []Defect{{Kind: CrownCrossing}}}).complete()
	if err != nil {
		t.Fatal(err)
	}
	m, err := newModel(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	r, err := m.newRestoration(context.Background(), s.Crown)
	if err != nil {
		t.Fatal(err)
	}
	shell, err := r.shell(context.Background(), stream(1, 1))
	if err != nil {
		t.Fatal(err)
	}
	if crossings(shell) == 0 {
		t.Error("the crossing crown does not cross itself")
	}
}

// Every kind has a default, belongs to the list and is laid on a crown without
// touching the one that was given.
func TestCrownDefectsLeaveTheSpecAlone(t *testing.T) {
	var kinds []string
	for k := range crownUsual {
		kinds = append(kinds, k)
	}
	slices.Sort(kinds)
	given := &Crown{Bites: []Bite{{Touch: Touch{0, 2}}}, Hills: make([]Hill, 1, 4), Overhang: Round{Arcs: make([]Arc, 1, 4)}, Before: &Old{Hills: make([]Hill, 1, 4)}}
	plain, err := (Spec{Crown: given}).complete()
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range kinds {
		s, err := (Spec{Crown: given, Defects: []Defect{{Kind: k}}}).complete()
		if err != nil {
			t.Fatal(err)
		}
		if sameCrown(s.Crown, plain.Crown) {
			t.Errorf("%q changes nothing", k)
		}
		if again, _ := (Spec{Crown: given}).complete(); !sameCrown(again.Crown, plain.Crown) {
			t.Errorf("%q changed the crown that was given", k)
		}
	}
}

func sameCrown(a, b *Crown) bool { return reflect.DeepEqual(a, b) }
