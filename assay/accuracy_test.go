package assay

import (
	"context"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"crownassay/geom"
	"crownassay/internal/phantom"
	"crownassay/reading"
	"crownassay/record"
	"crownassay/unit"
)

// allowed is the largest error of a reading on an invented case without
// noise; noise of 10 um may double it. The figures are the project's own
// requirement: angles 0.5 degrees, heights and widths 0.05 mm, clearances
// 0.02 mm, undercut 0.02 mm. Areas and ratios follow from those: 0.05 mm of 4
// mm of wall and so on; what resistance may be off by is narrowed or widened for
// each case (resistanceAllowed).
var allowed = map[reading.ID]float64{
	"scan.holes": 0, "finish_line.length": 0.15, "finish_line.legible": 1.5,
	"finish_line.width.min": 0.05, "finish_line.width.mean": 0.05, "finish_line.roughness": 0.02,
	"finish_line.neighbour.mesial": 0.05, "finish_line.neighbour.distal": 0.05,
	"preparation.convergence.mesiodistal": 0.5, "preparation.convergence.buccolingual": 0.5, "preparation.convergence.mean": 0.5,
	"preparation.height.min": 0.05, "preparation.height_to_base": 0.01,
	"preparation.undercut.depth": 0.02, "preparation.undercut.area": 0.3, "preparation.placement.window": 0.5,
	"preparation.resistance.share": 3, "preparation.resistance.limit": 0.5, "preparation.retention.area": 1.5,
	"preparation.clearance.occlusal": 0.02, "preparation.line_angle.radius": 0.08,

	"crown.thickness.occlusal": 0.02, "crown.thickness.axial": 0.02,
	"crown.fit.marginal_gap.mean": 0.01, "crown.fit.marginal_gap.max": 0.01, "crown.fit.discrepancy.max": 0.01,
	"crown.fit.internal.mean": 0.01, "crown.fit.interference": 0.01,
	"crown.contour.overhang.max": 0.01, "crown.contour.overhang.min": 0.01, "crown.contour.emergence.max": 1, "crown.contour.bulge.max": 0.05,
	"crown.contact.mesial": 0.01, "crown.ridge.step.mesial": 0.05, "crown.ridge.step.distal": 0.05,
	"crown.contact.distal": 0.01, "crown.contact.occlusal": 0.01,
	"crown.seating.clearance": 0.01, "crown.tool.left": 0.01,
}

// ofCrown is the reading of the design that one of the crown as made or of the
// restoration before is made like.
func ofCrown(id reading.ID) reading.ID {
	for _, prefix := range []string{"finished.", "existing."} {
		if rest, ok := strings.CutPrefix(string(id), prefix); ok {
			return reading.ID("crown." + rest)
		}
	}
	return id
}

// askew are readings whose truth is that of sections about the axis, which an
// edge that runs askew to them makes too small: front teeth are left out.
func askew(pc *phantom.Case, id reading.ID) bool {
	return id == "crown.tool.left" && pc.Tooth[1] <= '3'
}

// measured runs one invented case from its files.
func measured(t testing.TB, spec phantom.Spec) (*phantom.Case, *record.Record, error) {
	t.Helper()
	pc := invented(t, spec)
	dir, err := os.MkdirTemp(t.TempDir(), "case")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(dir)
	r, err := Run(context.Background(), loadedFrom(t, pc, dir), Options{})
	return pc, r, err
}

// invented builds an invented case.
func invented(t testing.TB, spec phantom.Spec) *phantom.Case {
	t.Helper()
	pc, err := phantom.Build(context.Background(), spec)
	if err != nil {
		t.Fatalf("%+v: %v", spec, err)
	}
	return pc
}

// loadedFrom writes a case into a folder and loads it from there.
func loadedFrom(t testing.TB, pc *phantom.Case, dir string) *Case {
	t.Helper()
	if err := pc.Write(dir); err != nil {
		t.Fatal(err)
	}
	c, err := LoadCase(dir)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// faults compares a record with the truth of its case and returns what is off
// by more than scale times what is allowed.
func faults(pc *phantom.Case, r *record.Record, scale float64) []string {
	var out []string
	say := func(what string, err, most float64) {
		if !(math.Abs(err) <= most) {
			out = append(out, fmt.Sprintf("%s off by %.4f (allowed %.4f)", what, err, most))
		}
	}
	mean, p95 := lineError(pc, r)
	say("finish line, mean", mean, 0.05*scale)
	say("finish line, 95th percentile", p95, 0.15*scale)
	for _, q := range r.Readings {
		want, known := pc.Truth.Readings[string(q.ID)]
		most, asked := allowed[ofCrown(q.ID)]
		if !known || !asked || askew(pc, q.ID) {
			continue
		}
		if !q.Measured() {
			out = append(out, fmt.Sprintf("%s unmeasured: %s", q.ID, q.Reason))
			continue
		}
		if strings.HasPrefix(string(q.ID), "preparation.resistance.") {
			most = resistanceAllowed(pc, q.ID)
		}
		most *= scale
		if ofCrown(q.ID) != q.ID {
			most = ofTwoScans(pc, q.ID, most, scale > 1)
		}
		if q.ID == "preparation.line_angle.radius" {
			most = math.Max(most, q.Expanded) // edges sharper than the facets are only bounded
		}
		say(string(q.ID), q.Value-want, most)
		for _, s := range q.Subs {
			if z, ok := pc.Truth.Zones[s.Name]; ok {
				say("clearance of "+s.Name, s.Value-z, max(0.02*scale, 2*s.Border)) // a border that is not sharply known
			}
		}
	}
	return out
}

// ofTwoScans is what a reading may be off by that is made between two scans,
// where one of them alone lets it be off by most: root two of that where both have
// noise, and where one was registered, in lengths what that may be off by (10 um,
// the project's own requirement) added in squares.
func ofTwoScans(pc *phantom.Case, id reading.ID, most float64, noisy bool) float64 {
	if noisy {
		most *= math.Sqrt2
	}
	other := pc.Truth.Finished
	if strings.HasPrefix(string(id), "existing.") {
		other = pc.Truth.Existing
	}
	if m, _ := reading.Find(id); other.OwnPose != nil && m.Unit == unit.Millimetre {
		most = math.Hypot(most, 0.01)
	}
	return most
}

// resistanceAllowed is what the resistance readings of a case may be off by when
// the finish line is off by 0.05 mm, heights by 0.05 mm and walls by 0.5
// degrees, added up. The share begins at the foot of the perpendicular, (B/2)
// sin 2T above the hinge, so that a wall off by dT moves it by B dT at most;
// the limit is 1/2 arcsin H/B, with a base B off at both ends.
func resistanceAllowed(pc *phantom.Case, id reading.ID) float64 {
	const line, height, wall = 0.05, 0.05, 0.5 * math.Pi / 180
	at := func(k int) geom.Vec {
		p := pc.Truth.Sections[k].Finish
		return geom.V(p[0], p[1], p[2])
	}
	b := at(90).Dist(at(270))
	h := pc.Truth.Readings["preparation.height_to_base"] * b
	if id == "preparation.resistance.share" {
		return 100 * (line + height + b*wall) / h
	}
	x := math.Min(0.95, h/b)
	return 180 / math.Pi / 2 / math.Sqrt(1-x*x) * (height + x*2*line) / b
}

// lineError returns mean and 95th percentile of the distances from the points
// found to the true finish line, its points joined by straight lines.
func lineError(pc *phantom.Case, r *record.Record) (mean, p95 float64) {
	truth := pc.Truth.FinishLine
	at := func(i int) geom.Vec {
		p := truth[i%len(truth)]
		return geom.V(p[0], p[1], p[2])
	}
	d := make([]float64, len(r.FinishLine))
	for i, p := range r.FinishLine {
		d[i] = math.Inf(1)
		for k := range truth {
			d[i] = math.Min(d[i], toSegment(p, at(k), at(k+1)))
		}
		mean += d[i] / float64(len(d))
	}
	slices.Sort(d)
	return mean, d[len(d)*95/100]
}

func toSegment(p, a, b geom.Vec) float64 {
	q, _ := geom.ClosestOnTriangle(p, a, b, b)
	return p.Dist(q)
}

// tenTeeth are ten teeth of all classes and quadrants.
var tenTeeth = []string{"11", "13", "16", "17", "25", "34", "36", "43", "46", "47"}

// Every reading on ten teeth in random pose lies within what is allowed, and
// within twice that with 10 um of noise.
func TestTenTeeth(t *testing.T) {
	for _, tooth := range tenTeeth {
		for _, noise := range []float64{0, 0.01} {
			t.Run(fmt.Sprintf("%s noise %v", tooth, noise), func(t *testing.T) {
				t.Parallel()
				spec := phantom.Spec{Tooth: tooth, Seed: 100 + uint64(len(tooth)), RandomPose: true, Shuffled: true, Float32: true, Triangles: 150000, Noise: noise}
				pc, r, err := measured(t, spec)
				if err != nil {
					t.Fatalf("seed %d: %v", spec.Seed, err)
				}
				scale := 1.0
				if noise > 0 {
					scale = 2
				}
				for _, f := range faults(pc, r, scale) {
					t.Errorf("seed %d: %s", spec.Seed, f)
				}
			})
		}
	}
}

// heldRate is the share of random cases, %, from which on the test fails: the
// project's own requirement is less than 2 % over 200 of them. What is left is
// on the coarsest meshes: front teeth whose incisal edge has facets of 0.25 to
// 0.6 mm over radii of 0.1 to 0.3 mm (clearance right above the line angle up
// to 0.026 mm too large, height at the tip up to 0.09 mm too small; on 400,000
// facets the same cases are within 0.003 and 0.008 mm), and the share that
// resists tipping on a short premolar (3.3 %, 3.0 allowed).
const heldRate = 2.0

// Failures over 200 random cases, or as many as CROWNASSAY_CASES says, are
// counted and printed.
func TestRandomCases(t *testing.T) {
	if testing.Short() {
		t.Skip("200 cases take some minutes")
	}
	cases := 200
	if v, err := strconv.Atoi(os.Getenv("CROWNASSAY_CASES")); err == nil {
		cases = v
	}
	var mu sync.Mutex
	var bad []string
	t.Run("all", func(t *testing.T) {
		for seed := range uint64(cases) {
			t.Run(fmt.Sprint(seed), func(t *testing.T) {
				t.Parallel()
				spec := phantom.RandomSpec(1000 + seed)
				pc, r, err := measured(t, spec)
				var found []string
				if err != nil {
					found = []string{err.Error()}
				} else {
					found = faults(pc, r, 1)
				}
				if len(found) > 0 {
					mu.Lock()
					bad = append(bad, fmt.Sprintf("seed %d, tooth %s: %s", 1000+seed, pc.Tooth, strings.Join(found, "; ")))
					mu.Unlock()
				}
			})
		}
	})
	slices.Sort(bad)
	for _, b := range bad {
		t.Log(b)
	}
	rate := 100 * float64(len(bad)) / float64(cases)
	t.Logf("%d of %d random cases (seeds 1000 to %d) have a reading off by more than allowed: %.1f %%", len(bad), cases, 1000+cases-1, rate)
	if rate >= heldRate {
		t.Errorf("failure rate is %.1f %%, must be under %.0f %%", rate, heldRate)
	}
}
