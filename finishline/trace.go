package finishline

import (
	"context"
	"math"
	"slices"

	"crownassay/align"
	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/internal/par"
)

// Scan is what tracing needs to know of a surface besides its shape.
type Scan struct {
	Tree     *bvh.Tree
	Spacing  float64    // mm: median facet edge near the preparation
	LongEdge float64    // mm: length that nine of ten facet edges there do not exceed; 0 when not known yet
	Noise    float64    // mm: RMS noise of vertices; 0 when not known yet
	Borders  []geom.Vec // vertices on the scan's border loops near the preparation
}

// Reach is how far from the axis profiles are cut: beyond the neighbours'
// near sides.
const Reach = 10.0

// Cut returns the profile of every degree of azimuth about a frame.
func Cut(ctx context.Context, t *bvh.Tree, f align.Frame, reach float64) ([]Profile, error) {
	out := make([]Profile, Sections)
	err := par.Do(ctx, Sections/2, 6, func(lo, hi int) {
		for k := lo; k < hi; k++ {
			out[k], out[k+Sections/2] = cutBoth(t, f, float64(k), reach)
		}
	})
	return out, err
}

// legibleTurn is the least convex turn of a legible finish line, degrees, and
// holeNear how near a hole may be, mm (definition of legible).
const (
	legibleTurn = 20.0
	holeNear    = 0.2
	noiseFactor = 2.5 // a turn stands out when it is this many times its own noise
)

// Trace finds the finish line in profiles as one closed curve. ok is false
// when no closed curve can be made of what the profiles show.
func Trace(ctx context.Context, s Scan, f align.Frame, profiles []Profile) (*Curve, bool, error) {
	w := turnWindow(s.Spacing)
	cands := make([][]candidate, len(profiles))
	err := par.Do(ctx, len(profiles), 12, func(lo, hi int) {
		for k := lo; k < hi; k++ {
			cands[k] = profiles[k].candidates(w)
		}
	})
	if err != nil {
		return nil, false, err
	}
	pick, cost := chain(cands, 1)
	if pick == nil || math.IsInf(cost, 1) {
		return nil, false, nil
	}
	c := assemble(s, profiles, cands, pick, w)
	c.judge(s, f, w)
	return c, true, nil
}

// assemble turns picks into a smooth curve.
func assemble(s Scan, profiles []Profile, cands [][]candidate, pick []int, w window) *Curve {
	n := len(profiles)
	c := &Curve{Turn: make([]float64, n), Seen: make([]bool, n), Legible: make([]bool, n)}
	r, z := make([]float64, n), make([]float64, n)
	for k := range n {
		if pick[k] < 0 {
			continue
		}
		cd := cands[k][pick[k]]
		p := profiles[k].corner(cd, w, s.Spacing, s.cutOff())
		r[k], z[k], c.Turn[k], c.Seen[k] = p.r, p.z, cd.turn, true
	}
	c.R, c.Z = smooth(r, c.Seen), smooth(z, c.Seen)
	c.Scatter = scatter(c, r, z)
	return c
}

// scatter returns the robust standard deviation (1.4826 MAD) of single
// sections about the smoothed curve.
func scatter(c *Curve, r, z []float64) float64 {
	var d []float64
	for k := range r {
		if c.Seen[k] {
			d = append(d, math.Hypot(r[k]-c.R[k], z[k]-c.Z[k]))
		}
	}
	return 1.4826 * Median(d) / math.Sqrt2
}

// cutOff is how far, mm, facets may cut an edge of the tooth off: a facet
// across a square edge passes it at half of its own length.
func (s Scan) cutOff() float64 {
	return math.Max(0.05, math.Max(0.7*s.Spacing, math.Min(mostCutOff, 0.6*s.LongEdge)))
}

// mostCutOff bounds that, mm: facets longer than twice this come from flat
// parts of a designed surface, whose edges have vertices on them.
const mostCutOff = 0.3

// corner returns where the surfaces before and after a candidate would meet:
// a scan's facets cut the edge off, the lines on both sides show where it
// was. It is kept only when it lies within the facets' reach of the scan.
func (p *Profile) corner(c candidate, w window, spacing, reach float64) point {
	near := max(2, int(math.Round(0.6*spacing/Step)))
	far := max(w.far, near+4)
	before, ok1 := p.fit(c.i-far, c.i-near+1)
	after, ok2 := p.fit(c.i+near, c.i+far+1)
	det := before.dr*after.dz - before.dz*after.dr
	norm := math.Hypot(before.dr, before.dz) * math.Hypot(after.dr, after.dz)
	if !ok1 || !ok2 || c.turn < legibleTurn || math.Abs(det) < 0.25*norm {
		return c.p
	}
	t := ((after.r-before.r)*after.dz - (after.z-before.z)*after.dr) / det
	x := point{before.r + t*before.dr, before.z + t*before.dz}
	if x.dist(c.p) > reach {
		return c.p
	}
	return x
}

// judge says where the line is legible.
func (c *Curve) judge(s Scan, f align.Frame, w window) {
	need := math.Max(legibleTurn, noiseFactor*turnNoise(s, w))
	for k := range c.R {
		c.Legible[k] = c.Seen[k] && c.Turn[k] >= need && !near(s.Borders, c.Point(f, k), holeNear)
	}
}

// turnNoise is the standard uncertainty of a turn in degrees that vertex
// noise alone makes: two straight fits over the window with one vertex every
// facet edge.
func turnNoise(s Scan, w window) float64 {
	l := float64(w.far-w.near) * Step
	n := math.Max(2, l/math.Max(s.Spacing, Step)+1)
	slope := s.Noise * math.Sqrt(12/n) / l
	return math.Sqrt2 * slope * 180 / math.Pi
}

func near(pts []geom.Vec, p geom.Vec, d float64) bool {
	for _, q := range pts {
		if q.DistSq(p) <= d*d {
			return true
		}
	}
	return false
}

// Median returns the median of v, which it reorders; 0 for an empty slice.
func Median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	m := len(v) / 2
	if len(v)%2 == 1 {
		return v[m]
	}
	return (v[m-1] + v[m]) / 2
}
