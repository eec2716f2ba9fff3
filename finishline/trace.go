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
	Normals  []geom.Vec // of the vertices: profiles then run on the surface that facets stand for; nil for facets as they are
	Borders  []geom.Vec // vertices on the scan's border loops near the preparation
}

// Reach is how far from the axis profiles are cut: beyond the neighbours'
// near sides.
const Reach = 10.0

// cutTogether is how many planes are cut in one walk of the tree.
const cutTogether = 6

// Cut returns the profile of every degree of azimuth about a frame.
func Cut(ctx context.Context, s Scan, f align.Frame, reach float64) ([]Profile, error) {
	out := make([]Profile, Sections)
	err := par.Do(ctx, Sections/2, cutTogether, func(lo, hi int) {
		c := slicer{scan: s, frame: f, reach: reach}
		planes, lines := make([]geom.Plane, hi-lo), make([][]bvh.Polyline, hi-lo)
		for i := range planes {
			planes[i] = c.plane(float64(lo + i))
		}
		s.Tree.Sections(planes, f.Origin, reach, lines)
		for i := range planes {
			k := lo + i
			out[k], out[k+Sections/2] = c.both(float64(k), planes[i], lines[i])
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
	c.judge(s, f, profiles, w)
	return c, true, nil
}

// assemble turns picks into a smooth curve.
func assemble(s Scan, profiles []Profile, cands [][]candidate, pick []int, w window) *Curve {
	n := len(profiles)
	c := newCurve()
	r, z := make([]float64, n), make([]float64, n)
	par.Do(context.Background(), n, sectionsTogether, func(lo, hi int) {
		for k := lo; k < hi; k++ {
			if pick[k] < 0 {
				continue
			}
			cd := cands[k][pick[k]]
			p := profiles[k].corner(cd, w, s)
			r[k], z[k], c.Turn[k], c.Seen[k] = p.r, p.z, cd.turn, true
		}
	})
	c.settleOn(r, z, s.half(r, c.Seen))
	c.Scatter = scatter(c, r, z)
	return c
}

// smoothNoise is how many degrees of smoothing each mm of noise asks for.
const smoothNoise = 400.0

// half is the half width, degrees, of the smoothing on a line of such radii:
// over less than one and a half facets a facet's own step is no average.
func (s Scan) half(r []float64, seen []bool) int {
	sum, n := 0.0, 0.0
	for k := range r {
		if seen[k] {
			sum, n = sum+r[k], n+1
		}
	}
	if n == 0 || sum == 0 {
		return smoothing
	}
	arc := 1.5 * math.Min(s.LongEdge, mostCutOff) / (sum / n) * 180 / math.Pi
	return max(smoothing, int(math.Round(arc)), int(math.Round(smoothNoise*s.Noise)))
}

// Robust smoothing: sections farther from the curve than outlying times the
// median distance count nothing, nearer ones by Tukey's biweight (as in
// LOWESS: W. S. Cleveland, J. Am. Stat. Assoc. 74 (1979) 829). Sections nearer
// than neverOut, mm, always count nearly in full.
const (
	outlying = 6.0
	neverOut = 0.02
	rounds   = 3
)

// settleOn smooths single sections into the curve. Facets that cut the edge
// off put some sections plainly inside of it.
func (c *Curve) settleOn(r, z []float64, half int) {
	sm := smoother{half: half}
	for range rounds {
		c.R, c.Z = sm.smooth(r, c.Seen), sm.smooth(z, c.Seen)
		sm.weight = c.biweights(r, z)
	}
}

// biweights weighs single sections by their distance from the curve.
func (c *Curve) biweights(r, z []float64) []float64 {
	var d []float64
	for k := range r {
		if c.Seen[k] {
			d = append(d, math.Hypot(r[k]-c.R[k], z[k]-c.Z[k]))
		}
	}
	end := math.Max(3*neverOut, outlying*Median(d))
	w := make([]float64, len(r))
	for k := range r {
		x := math.Hypot(r[k]-c.R[k], z[k]-c.Z[k]) / end
		w[k] = math.Pow(math.Max(0, 1-x*x), 2)
	}
	return w
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

// CutOff is how far, mm, facets may cut an edge of the tooth off: a facet
// across a square edge passes it at half of its own length.
func (s Scan) CutOff() float64 {
	return math.Max(0.05, math.Max(0.7*s.Spacing, math.Min(mostCutOff, s.LongEdge)))
}

// mostCutOff bounds that, mm: longer facets come from flat parts of a
// designed surface, whose edges have vertices on them.
const mostCutOff = 0.4

// sharper is how many degrees more a wider gap between the lines beside an
// edge must show for it to be taken, and no less than noise makes: facets that
// cut the edge off flatten it.
const sharper = 4.0

// corner returns where the surfaces before and after a candidate would meet:
// a scan's facets cut the edge off, the lines on both sides show where it
// was. The lines leave out what the facets blur: the gap between them is
// widened, to either side, while that shows a sharper edge. The place is kept only when it lies
// within the facets' reach of the scan.
func (p *Profile) corner(c candidate, w window, s Scan) point {
	best, most := c.p, math.Inf(-1)
	if c.turn < legibleTurn {
		return best
	}
	reach, more := s.CutOff(), math.Max(sharper, turnNoise(s, w))
	first := max(2, int(math.Round(0.6*s.Spacing/Step)))
	last := max(first, int(reach/Step))
	for gap := 2 * first; gap <= 2*last; gap += 2 {
		for before := first; before <= gap-first; before += 2 {
			x, turn, ok := p.meet(c.i, before, gap-before, w)
			if ok && turn > most+more && x.dist(c.p) <= reach {
				best, most = x, turn
			}
		}
	}
	return best
}

// meet returns where the lines beside sample i meet that begin before samples
// ahead of it and after samples past it, and how much they turn; ok is false
// for lines nearly parallel and near the ends of the profile.
func (p *Profile) meet(i, before, after int, w window) (x point, turn float64, ok bool) {
	a, ok1 := p.fit(i-max(w.far, before+4), i-before+1)
	b, ok2 := p.fit(i+after, i+max(w.far, after+4)+1)
	det := a.dr*b.dz - a.dz*b.dr
	norm := math.Hypot(a.dr, a.dz) * math.Hypot(b.dr, b.dz)
	if !ok1 || !ok2 || math.Abs(det) < 0.25*norm {
		return point{}, 0, false
	}
	t := ((b.r-a.r)*b.dz - (b.z-a.z)*b.dr) / det
	return point{a.r + t*a.dr, a.z + t*a.dz}, -math.Atan2(det, a.dr*b.dr+a.dz*b.dz) * 180 / math.Pi, true
}

// judge says where the line is legible. A section whose own turn was passed
// over, since facets put it beside the curve, is looked at where the curve
// runs.
func (c *Curve) judge(s Scan, f align.Frame, profiles []Profile, w window) {
	need := math.Max(legibleTurn, noiseFactor*turnNoise(s, w))
	par.Do(context.Background(), len(c.R), sectionsTogether, func(lo, hi int) {
		for k := lo; k < hi; k++ {
			p := &profiles[k]
			i := p.Nearest(c.R[k], c.Z[k])
			if i >= 0 && !p.gapWithin(i, w.far) {
				t, _ := p.sharpestNear(i, w)
				c.Turn[k] = math.Max(c.Turn[k], t)
			}
			c.Sharp[k] = c.Turn[k] >= need
			c.Legible[k] = c.Sharp[k] && !near(s.Borders, c.Point(f, k), holeNear)
		}
	})
}

// sharpestNear returns the largest convex turn within a window of sample i,
// and its sample.
func (p *Profile) sharpestNear(i int, w window) (turn float64, at int) {
	at = i
	for j := i - w.far; j <= i+w.far; j++ {
		if t, _, _, ok := p.turn(j, w); ok && t > turn {
			turn, at = t, j
		}
	}
	return turn, at
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
	m := len(v) / 2
	if slices.ContainsFunc(v, math.IsNaN) {
		slices.Sort(v) // they count as the least
	}
	part(v, m)
	if len(v)%2 == 1 {
		return v[m]
	}
	return (slices.Max(v[:m]) + v[m]) / 2
}

// part moves what a sorted v has before place m before it, and what it has
// there to it (C. A. R. Hoare, Algorithm 65: Find, Comm. ACM 4 (1961) 321).
func part(v []float64, m int) {
	lo, hi := 0, len(v)-1
	for hi-lo > sortedWhole {
		p := v[(lo+hi)/2]
		i, j := lo, hi
		for i <= j {
			for v[i] < p {
				i++
			}
			for p < v[j] {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case m <= j:
			hi = j
		case m >= i:
			lo = i
		default:
			return
		}
	}
	slices.Sort(v[lo : hi+1])
}

// sortedWhole is how many numbers are sorted rather than parted further.
const sortedWhole = 64
