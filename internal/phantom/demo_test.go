package phantom

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"crownassay/geom"
)

// Random cases are plausible: every reading is a number within what is seen
// in practice (finish line 0.40 to 0.83 and more where it is wanted, heights
// 1.87 to 5.25 mm and above on front teeth, Tiu et al. 2015, J Prosthet Dent
// 114:67; the ranges here are wider).
func TestRandomCasesArePlausible(t *testing.T) {
	n := uint64(12)
	if testing.Short() {
		n = 4
	}
	bounds := map[string][2]float64{
		"preparation.convergence.mean": {6, 32}, "preparation.height.min": {1.8, 9}, "finish_line.width.min": {0.4, 1.3},
		"finish_line.neighbour.mesial": {0.5, 3}, "finish_line.length": {12, 40}, "preparation.clearance.occlusal": {0.8, 3},
		"preparation.placement.window": {1.5, 12}, "preparation.retention.area": {30, 200}, "preparation.line_angle.radius": {0.1, 0.7},
		"preparation.undercut.depth": {0, 1e-6}, "preparation.resistance.share": {0, 100},
	}
	for seed := range n {
		spec := RandomSpec(seed)
		spec.Triangles = 20000
		c := build(t, spec)
		for id, b := range bounds {
			if v := c.Truth.Readings[id]; !(v >= b[0] && v <= b[1]) {
				t.Errorf("seed %d tooth %s: %s = %g, want %g to %g", seed, spec.Tooth, id, v, b[0], b[1])
			}
		}
	}
}

// The prepared tooth stays inside the crown that was there, and the finish
// line is the sharp edge: the wall side and the root side turn by 50 to 100
// degrees.
func TestPreparationLiesInCrown(t *testing.T) {
	for seed := range uint64(20) {
		m, err := newModel(context.Background(), mustComplete(t, RandomSpec(seed)))
		if err != nil {
			t.Fatal(err)
		}
		p, c := m.target.prep, m.target.crown
		for i := range 72 {
			a := float64(i) * 5 * degree
			for u := 0.02; u < segRoot; u += 0.02 {
				if v := c.level(p.point(a, u)); v > 0 {
					t.Fatalf("seed %d: profile point %g at %d deg is %g outside the crown", seed, u, 5*i, v)
				}
			}
			s := p.section(a)
			in, out := s.at(segRoot-1e-4).from(s.at(segRoot-2e-4)), s.at(segRoot+2e-4).from(s.at(segRoot+1e-4))
			angle := math.Abs(turn(math.Atan2(out.z, out.r)-math.Atan2(in.z, in.r))) / degree
			if angle < 50 || angle > 100 {
				t.Fatalf("seed %d: finish line turns by %g deg at %d deg", seed, angle, 5*i)
			}
		}
	}
}

func mustComplete(t *testing.T, s Spec) Spec {
	t.Helper()
	s, err := s.complete()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Everything in the truth moves with the pose.
func TestTruthMovesWithPose(t *testing.T) {
	spec := Spec{Tooth: "25", Triangles: 20000, Seed: 9}
	a := build(t, spec)
	spec.RandomPose = true
	b := build(t, spec)
	for id, v := range a.Truth.Readings {
		within(t, id, b.Truth.Readings[id], v, 1e-9)
	}
	o := b.model.pose.Apply(vec(a.Truth.Origin))
	within(t, "origin", o.Dist(vec(b.Truth.Origin)), 0, 1e-9)
	for i, v := range a.Prepared.V[:100] {
		within(t, "vertex", b.model.pose.Apply(v).Dist(b.Prepared.V[i]), 0, 1e-9)
	}
}

// Noise has the wanted size along the normal, with and without correlation.
func TestNoise(t *testing.T) {
	spec := Spec{Tooth: "45", Triangles: 20000, Seed: 1}
	clean := build(t, spec)
	for _, correlated := range []bool{false, true} {
		spec.Noise, spec.Correlated = 0.01, correlated
		c := build(t, spec)
		sum := 0.0
		for i, v := range clean.Prepared.V {
			sum += v.DistSq(c.Prepared.V[i])
		}
		within(t, "noise", math.Sqrt(sum/float64(len(clean.Prepared.V))), 0.01, 3e-4)
	}
}

func TestDemoIsWritten(t *testing.T) {
	names := map[string]bool{}
	for _, s := range Demo() {
		if s.Name == "" || s.Title == "" || s.Story == "" || names[s.Name] {
			t.Errorf("demo case %+v lacks a name of its own, a title or a story", s)
		}
		names[s.Name] = true
	}
	spec := Demo()[3]
	spec.Triangles = 20000
	c := build(t, spec)
	if d := c.Truth.Readings["preparation.undercut.depth"]; d < 0.03 {
		t.Errorf("undercut of the demo case is %g mm deep, want at least 0.03", d)
	}
	dir := t.TempDir()
	if err := c.Write(dir); err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile(filepath.Join(dir, "truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	var back struct{ Truth Truth }
	if err := json.Unmarshal(raw, &back); err != nil {
		t.Fatal(err)
	}
	if len(back.Truth.Sections) != 360 || len(back.Truth.FinishLine) < 720 {
		t.Errorf("truth.json has %d sections and %d finish line points", len(back.Truth.Sections), len(back.Truth.FinishLine))
	}
	info, err := os.Stat(filepath.Join(dir, "prepared.stl"))
	if err != nil || info.Size() != int64(84+50*len(c.Prepared.F)) {
		t.Errorf("prepared.stl: %v, want 84 + 50 bytes a facet", err)
	}
}

// The clearance's minimum agrees with a search over nothing but points: every
// point of both surfaces, no refinement, no grid.
func TestClearanceAgainstPlainSearch(t *testing.T) {
	c := build(t, Spec{Tooth: "46", Triangles: 20000, Seed: 6})
	m := c.model
	want := math.Inf(1)
	var low []geom.Vec
	for _, th := range m.opposing.within(m.target.frame.o, 13) {
		n := th.sheet.(*natural)
		for i := range 500 {
			for k := range 250 {
				low = append(low, th.frame.toArch(n.crownPoint(2*math.Pi*float64(i)/500, float64(k)/250)))
			}
		}
	}
	p := vec(c.Truth.Places["preparation.clearance.occlusal"])
	for _, q := range low {
		want = math.Min(want, p.Dist(q))
	}
	within(t, "clearance", c.Truth.Readings["preparation.clearance.occlusal"], want, 1e-3)
}
