package measure

import (
	"fmt"
	"math"

	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/reading"
)

// How the radius of convex edges is read. Lengths mm.
const (
	edgeHalf    = 0.10 // half of the arc over which the turning is fitted
	edgeFacets  = 0.9  // facets that half must hold at least
	edgeNoise   = 10.0 // mm of half more for each mm of noise
	edgeAround  = 5    // sections to either side averaged: facets' steps differ between them
	edgeSpan    = 0.7  // how far from the line angle its bend is looked for
	besideEdge  = 0.4  // other edges are looked for beyond this distance from it
	flattest    = 0.5  // 1/mm: gentler bends are surfaces, not edges
	poleReach   = 0.4  // sections this near to the axis cross no edge squarely
	gridShare   = 0.15 // share of the wall's height at top and bottom left out of level cuts
	edgeBlur    = 1.4  // standard uncertainty in units of half^2 / radius: largest errors on invented cases are twice that
	edgeShare   = 0.20 // and at most this share of the value: sharper edges only read too blunt
	edgeLevels  = 12   // level cuts of the wall between them
	leastConvex = 20.0 // degrees that an edge turns by at least
)

// lineAngle is the smallest radius of the convex edges above the finish line:
// the occlusoaxial line angle and other edges that the sections cross, and in
// level cuts of the wall the edges that run up it. The direction of the
// profile is averaged over neighbouring sections, whose facets step in
// different places, and its turning fitted over a short arc.
func (s *Site) lineAngle() reading.Reading {
	const id = "preparation.line_angle.radius"
	half := math.Max(edgeHalf, edgeFacets*s.Spacing) + edgeNoise*s.known()
	bends, at := s.edgeBends(half)
	k := highest(bends)
	if k < 0 {
		return unmeasured(id, noWall)
	}
	bend, place, where := bends[k], s.place(k, at[k]), "between the wall and the occlusal surface"
	others, spots := s.sharpestAll(1.5 * half)
	if j, b := peakAround(others); j >= 0 && b > bend {
		bend, place, where = b, s.placeOf(spots[j]), "on the occlusal surface or the wall"
	}
	if b, p, ok := s.sharpestUpright(1.5 * half); ok && b > bend {
		bend, place, where = b, s.placeOf(p), "running up the wall"
	}
	sections := bends
	if bend < flattest {
		return reading.Reading{ID: id, Value: 1 / flattest, Note: "no edge is sharper than that",
			Parts: []reading.Part{{Name: "sampling of the mesh", Standard: 0.1}}}
	}
	v := 1 / bend
	prof := make([]float64, len(sections))
	for i, b := range sections {
		prof[i] = math.NaN()
		if b > 0 {
			prof[i] = math.Min(1/b, 1/flattest)
		}
	}
	return reading.Reading{ID: id, Value: v, At: place, Profile: profile(prof), Note: "sharpest edge " + where + s.resolves(half, v),
		Parts: []reading.Part{
			{Name: "sampling of the mesh", Standard: math.Max(0.02, math.Min(edgeBlur*half*half/v, edgeShare*v))},
			{Name: "scan noise", Standard: v * v * s.likely() / (half * half) / 6}}}
}

// edgeBends returns, per section, the largest bend of the occlusoaxial line
// angle: profiles of neighbouring sections are laid over one another at the
// line angle and their directions averaged.
func (s *Site) edgeBends(half float64) ([]float64, []geom.Vec) {
	n := int(math.Round(edgeSpan / finishline.Step))
	h := max(2, int(math.Round(half/finishline.Step)))
	rows := make([][]float64, finishline.Sections)
	for k := range rows {
		rows[k] = s.directions(k, n)
	}
	bends, at := make([]float64, finishline.Sections), make([]geom.Vec, finishline.Sections)
	for k := range bends {
		bends[k] = math.NaN()
		if w := &s.Walls[k]; w.Ok {
			at[k] = s.Frame.At(float64(k), w.EdgeR, w.EdgeZ)
			if row := averaged(rows, k); row != nil {
				bends[k] = steepest(row, h)
			}
		}
	}
	return bends, at
}

// directions returns the direction of the profile up to n steps to either side
// of the line angle, radians, continuous; nil where it is not all seen. The
// profile is seen along the edge: a section that cuts the edge slantwise would
// show it blunter than it is.
func (s *Site) directions(k, n int) []float64 {
	w := &s.Walls[k]
	if !w.Ok || w.Edge-n < 2 {
		return nil
	}
	v := s.alongEdge(k)
	out := make([]float64, 2*n+1)
	for _, side := range []int{-1, 1} {
		i, at := w.Edge, 0.0
		for j := range n + 1 {
			d, l := v.step(i)
			for at+l <= float64(j)*finishline.Step && i >= 2 && i < w.Inner {
				at += l
				i += side
				d, l = v.step(i)
			}
			if i < 2 {
				return nil
			}
			if i >= w.Inner || v.p.Gap[i] {
				d = math.NaN()
			}
			out[n+side*j] = d
		}
	}
	for i := 1; i < len(out); i++ {
		if !math.IsNaN(out[i-1]) {
			out[i] = out[i-1] + math.Remainder(out[i]-out[i-1], 2*math.Pi)
		}
	}
	return out
}

// edgeView is a profile seen along an edge: a step (dr, dz) of it looks like
// (x dr, y dr + z dz).
type edgeView struct {
	p       *finishline.Profile
	x, y, z float64
}

// step is the direction and the length, mm, of the way from sample i-1 to i.
func (v *edgeView) step(i int) (direction, length float64) {
	dr, dz := v.p.R[i]-v.p.R[i-1], v.p.Z[i]-v.p.Z[i-1]
	x, y := v.x*dr, v.y*dr+v.z*dz
	return math.Atan2(y, x), math.Hypot(x, y)
}

// slantMost is the cosine of the most that a section may be slanted to an edge
// and still show its profile.
const slantMost = 0.4

// alongEdge is the view along the line angle at section k; the plain section
// where the edge does not run across it.
func (s *Site) alongEdge(k int) edgeView {
	plain := edgeView{&s.Profiles[k], 1, 0, 1}
	a, b := &s.Walls[wrap(k-edgeAround)], &s.Walls[wrap(k+edgeAround)]
	if !a.Ok || !b.Ok {
		return plain
	}
	t := s.Frame.At(float64(k+edgeAround), b.EdgeR, b.EdgeZ).Sub(s.Frame.At(float64(k-edgeAround), a.EdgeR, a.EdgeZ)).Unit()
	d := s.Frame.Direction(float64(k))
	if math.Abs(t.Dot(s.Frame.Z.Cross(d))) < slantMost {
		return plain
	}
	up := s.Frame.Z.Reject(t).Unit()
	out := d.Reject(t).Reject(up).Unit()
	return edgeView{&s.Profiles[k], d.Dot(out), d.Dot(up), s.Frame.Z.Dot(up)}
}

// averaged is the mean of rows k-edgeAround to k+edgeAround; nil when half of
// them are missing.
func averaged(rows [][]float64, k int) []float64 {
	var out []float64
	n := 0.0
	for d := -edgeAround; d <= edgeAround; d++ {
		row := rows[wrap(k+d)]
		if row == nil {
			continue
		}
		if out == nil {
			out = make([]float64, len(row))
		}
		for i, x := range row {
			out[i] += x
		}
		n++
	}
	if n <= edgeAround {
		return nil
	}
	for i := range out {
		out[i] /= n
	}
	return out
}

// steepest returns the largest convex bend, 1/mm, of a row of directions
// fitted over half samples to either side.
func steepest(row []float64, half int) float64 {
	best := math.NaN()
	for i := half; i+half < len(row); i++ {
		var sxy, sxx float64
		for d := -half; d <= half; d++ {
			x := float64(d) * finishline.Step
			sxy, sxx = sxy+x*row[i+d], sxx+x*x
		}
		if b := -sxy / sxx; !(b <= best) && !math.IsNaN(b) {
			best = b
		}
	}
	return best
}

// resolves says so when an edge is sharper than the scan can show.
func (s *Site) resolves(half, v float64) string {
	if v > 1.2*half {
		return ""
	}
	return fmt.Sprintf("; the scan cannot tell radii below about %.2f mm apart", half)
}

// sharpest returns the largest convex bend (1/mm) of section k above the
// finish line, and where.
func (s *Site) sharpest(k int, half float64) (float64, geom.Vec) {
	w, p := &s.Walls[k], &s.Profiles[k]
	if !w.Ok {
		return math.NaN(), geom.Vec{}
	}
	h := int(math.Round(half / finishline.Step))
	best, at := 0.0, w.Edge
	for i := h + 2; i < w.Inner-h; i++ {
		if p.R[i] < poleReach || p.Gap[i] || math.Abs(float64(i-w.Edge))*finishline.Step < besideEdge {
			continue
		}
		if b, turned := p.Bend(i, h); b > best && turned > leastConvex/2 {
			best, at = b, i
		}
	}
	return best, s.Frame.At(float64(k), p.R[at], p.Z[at])
}

// peakAround averages bends over neighbouring sections and returns the
// largest average.
func peakAround(v []float64) (int, float64) {
	avg := make([]float64, len(v))
	for k := range v {
		sum, n := 0.0, 0
		for d := -edgeAround; d <= edgeAround; d++ {
			if x := v[wrap(k+d)]; !math.IsNaN(x) {
				sum, n = sum+x, n+1
			}
		}
		avg[k] = math.NaN()
		if n > edgeAround {
			avg[k] = sum / float64(n)
		}
	}
	k := highest(avg)
	if k < 0 {
		return -1, 0
	}
	return k, avg[k]
}

// sharpestUpright looks for edges that run up the wall: the bend of level
// cuts, averaged over neighbouring heights.
func (s *Site) sharpestUpright(half float64) (bend float64, at geom.Vec, ok bool) {
	cuts := make([][]point2, edgeLevels)
	for j := range cuts {
		cuts[j] = s.levelCut(gridShare + (1-2*gridShare)*float64(j)/(edgeLevels-1))
	}
	for k := range finishline.Sections {
		sum, n := 0.0, 0
		for j := range cuts {
			if b, turned, ok := bendOf(cuts[j], k, half); ok && turned > leastConvex/2 {
				sum, n = sum+b, n+1
			}
		}
		if n < edgeLevels/2 {
			continue
		}
		if b := sum / float64(n); b > bend {
			q := cuts[edgeLevels/2][k]
			bend, at, ok = b, s.Frame.World(geom.V(q.x, q.y, q.z)), true
		}
	}
	return bend, at, ok
}

// point2 is a point of a level cut in the frame, with its height.
type point2 struct {
	x, y, z float64
	ok      bool
}

// levelCut returns the wall at a share of its height, per degree.
func (s *Site) levelCut(share float64) []point2 {
	out := make([]point2, finishline.Sections)
	for k := range out {
		w := &s.Walls[k]
		if !w.Ok {
			continue
		}
		i := w.Inner - int(share*float64(w.Inner-w.Edge))
		p := &s.Profiles[k]
		sn, cs := math.Sincos(float64(k) * math.Pi / 180)
		r := p.Smooth(i, min(4, i-w.Edge, w.Inner-i))
		out[k] = point2{r * cs, r * sn, p.Z[i], !p.Gap[i]}
	}
	return out
}

// bendOf fits the turning of a level cut over half to either side of k.
func bendOf(c []point2, k int, half float64) (bend, turned float64, ok bool) {
	if !c[k].ok {
		return 0, 0, false
	}
	var s, th []float64
	for _, side := range []int{-1, 1} {
		at, prev := 0.0, c[k]
		for d := 1; d < 90; d++ {
			q := c[wrap(k+side*d)]
			if !q.ok {
				return 0, 0, false
			}
			dx, dy := q.x-prev.x, q.y-prev.y
			l := math.Hypot(dx, dy)
			if at+l/2 > half+finishline.Step {
				break
			}
			s = append(s, float64(side)*(at+l/2))
			th = append(th, math.Atan2(float64(side)*dy, float64(side)*dx))
			at, prev = at+l, q
		}
	}
	if len(s) < 4 {
		return 0, 0, false
	}
	return slope(s, th)
}

// slope fits angle against arc and returns the bend (rad/mm) and the degrees
// turned over the arc.
func slope(s, th []float64) (bend, turned float64, ok bool) {
	var n, ss, st, sss, sst, lo, hi float64
	for i := range s {
		t := math.Remainder(th[i]-th[0], 2*math.Pi)
		n, ss, st, sss, sst = n+1, ss+s[i], st+t, sss+s[i]*s[i], sst+s[i]*t
		lo, hi = math.Min(lo, s[i]), math.Max(hi, s[i])
	}
	den := n*sss - ss*ss
	if den < 1e-12 {
		return 0, 0, false
	}
	b := (n*sst - ss*st) / den
	return b, b * (hi - lo) * 180 / math.Pi, true
}
