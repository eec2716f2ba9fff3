package phantom

import (
	"math"
	"slices"

	"crownassay/geom"
)

// robustArea is what a robust extreme leaves out, mm^2 (the definition's).
const robustArea = 0.05

// profileOf collects one value of every section.
func (s *survey) profileOf(f func(c *cut) float64) []float64 {
	out := make([]float64, len(s.cuts))
	for i := range s.cuts {
		out[i] = f(&s.cuts[i])
	}
	return out
}

// medianRound is the median of a closed profile over k values to each side.
func medianRound(v []float64, k int) []float64 {
	n := len(v)
	out, w := make([]float64, n), make([]float64, 2*k+1)
	for i := range v {
		for j := range w {
			w[j] = v[(i+j-k+n)%n]
		}
		slices.Sort(w)
		out[i] = w[k]
	}
	return out
}

func mean(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x
	}
	return s / float64(len(v))
}

// lowest returns the smallest value after the median over 3 and its index.
func lowest(v []float64) (float64, int) {
	m := medianRound(v, 1)
	i := slices.Index(m, slices.Min(m))
	return m[i], i
}

// preparation fills the readings that need the preparation alone.
func (s *survey) preparation(t *Truth) {
	r := t.Readings
	width := s.profileOf((*cut).width)
	wMin, at := lowest(width)
	r["finish_line.width.min"], r["finish_line.width.mean"] = wMin, mean(width)
	t.Places["finish_line.width.min"] = triple(s.cuts[at].space(uFinish))
	height := s.profileOf((*cut).height)
	hMin, at := lowest(height)
	r["preparation.height.min"] = hMin
	t.Places["preparation.height.min"] = triple(s.cuts[at].space(uFinish))
	base := s.cuts[90].space(uFinish).Dist(s.cuts[270].space(uFinish))
	r["preparation.height_to_base"] = (height[90] + height[270]) / 2 / base
	s.convergence(r)
	depth := s.profileOf(func(c *cut) float64 { return c.undercut })
	r["preparation.undercut.depth"] = slices.Max(depth)
	r["finish_line.length"] = s.length
	r["finish_line.roughness"] = roughness(s.finish)
	s.walls(r)
	r["preparation.line_angle.radius"] = s.sharpest()
}

func (s *survey) convergence(r map[string]float64) {
	inc := medianRound(s.profileOf((*cut).inclination), 5)
	r["preparation.convergence.mesiodistal"] = inc[0] + inc[180]
	r["preparation.convergence.buccolingual"] = inc[90] + inc[270]
	r["preparation.convergence.mean"] = 2 * mean(inc)
	worst := math.Inf(1)
	for a := range 180 {
		b := s.cuts[a].space(uFinish).Dist(s.cuts[a+180].space(uFinish))
		h := (s.cuts[a].height() + s.cuts[a+180].height()) / 2
		limit := limitingTaper(h, b)
		if slack := limit - (inc[a]+inc[a+180])/2; slack < worst {
			worst = slack
			r["preparation.resistance.limit"] = limit
			r["preparation.resistance.limit.own"] = (inc[a] + inc[a+180]) / 2
			r["preparation.resistance.limit.azimuth"] = float64(a)
		}
	}
}

// limitingTaper is Parker's limiting average taper of one wall, degrees:
// half arcsin(height / base), 45 where the height reaches the base
// (Parker et al. 1988, from memory).
func limitingTaper(h, b float64) float64 {
	return math.Asin(math.Min(1, h/b)) / 2 / degree
}

// walls fills what is summed over the axial wall.
func (s *survey) walls(r map[string]float64) {
	var all []patch
	area := 0.0
	for _, w := range s.wall {
		all = append(all, w...)
	}
	for _, w := range all {
		area += w.area
	}
	r["preparation.placement.window"] = s.window()
	r["preparation.retention.area"] = area
	r["preparation.undercut.area"] = facingAway(all, s.axis, math.Sin(0.5*degree))
	r["preparation.resistance.share"] = s.resistance() * 100
}

// window is the angle to the axis that robustArea of the wall goes below.
func (s *survey) window() float64 {
	w := slices.Clone(s.normals)
	slices.SortStableFunc(w, func(a, b patch) int { return compare(a.n.Dot(s.axis), b.n.Dot(s.axis)) })
	area := 0.0
	for i := range w {
		if area += w[i].area; area >= robustArea {
			return math.Asin(w[i].n.Dot(s.axis)) / degree
		}
	}
	return math.NaN()
}

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// resistance tips about the tangent at every section's finish line point and
// returns the smallest blocked share of the opposite half.
func (s *survey) resistance() float64 {
	least := 1.0
	for a := range s.cuts {
		f := s.cuts[a].space(uFinish)
		tangent := s.cuts[(a+1)%360].space(uFinish).Sub(s.cuts[(a+359)%360].space(uFinish)).Unit()
		least = math.Min(least, s.blocked(a, f, tangent))
	}
	return least
}

// blocked is the share of the wall opposite to section a that moves against
// the tooth when the crown tips about the line through f.
func (s *survey) blocked(a int, f, tangent geom.Vec) float64 {
	far := s.cuts[(a+180)%360].space(uFinish).Sub(f)
	if tangent.Cross(far).Dot(s.axis) < 0 {
		tangent = tangent.Neg()
	}
	whole, stop := 0.0, 0.0
	for k := -90; k < 90; k++ {
		for _, w := range s.wall[(a+180+k+360)%360] {
			whole += w.area
			if tangent.Cross(w.p.Sub(f)).Dot(w.n) < 0 {
				stop += w.area
			}
		}
	}
	return stop / whole
}

// roughness is the RMS distance between a closed line and its moving average
// over 1 mm of arc.
func roughness(line []geom.Vec) float64 {
	even, step := evenly(line, 2000)
	k := int(math.Round(0.5 / step))
	sum := 0.0
	for i, p := range even {
		var m geom.Vec
		for j := -k; j <= k; j++ {
			m = m.Add(even[(i+j+len(even))%len(even)])
		}
		sum += m.Mul(1 / float64(2*k+1)).DistSq(p)
	}
	return math.Sqrt(sum / float64(len(even)))
}

// evenly resamples a closed line to n points at even steps of arc.
func evenly(line []geom.Vec, n int) ([]geom.Vec, float64) {
	l := make([]float64, len(line)+1)
	for i, p := range line {
		l[i+1] = l[i] + p.Dist(line[(i+1)%len(line)])
	}
	step := l[len(line)] / float64(n)
	out := make([]geom.Vec, n)
	k := 0
	for i := range out {
		for l[k+1] < step*float64(i) {
			k++
		}
		t := (step*float64(i) - l[k]) / (l[k+1] - l[k])
		out[i] = line[k].Lerp(line[(k+1)%len(line)], t)
	}
	return out, step
}

// sharpest is the smallest radius of curvature across the line angle.
func (s *survey) sharpest() float64 {
	k := 0.0
	for i := range 360 {
		for _, v := range []float64{0.2, 0.4, 0.6, 0.8} {
			k = math.Max(k, s.curvature(float64(i)*degree, segLine+v))
		}
	}
	return 1 / k
}

// curvature is the principal curvature across the profile's edge (convex
// positive): the one whose direction lies nearer to the profile's. It comes
// from the formula's fundamental forms by central differences. The other one
// is the bend of the edge itself, where it turns a corner in plan.
func (p *prep) curvature(a, u float64) float64 {
	const e = 1e-3
	f := func(i, j float64) geom.Vec { return p.point(a+i*e, u+j*e) }
	o := f(0, 0)
	xa, xu := f(1, 0).Sub(f(-1, 0)).Mul(0.5/e), f(0, 1).Sub(f(0, -1)).Mul(0.5/e)
	aa := f(1, 0).Add(f(-1, 0)).Sub(o.Mul(2)).Mul(1 / (e * e))
	uu := f(0, 1).Add(f(0, -1)).Sub(o.Mul(2)).Mul(1 / (e * e))
	au := f(1, 1).Sub(f(1, -1)).Sub(f(-1, 1)).Add(f(-1, -1)).Mul(0.25 / (e * e))
	n := xu.Cross(xa).Unit()
	E, F, G := xa.Dot(xa), xa.Dot(xu), xu.Dot(xu)
	L, M, N := -aa.Dot(n), -au.Dot(n), -uu.Dot(n)
	h := (E*N - 2*F*M + G*L) / (2 * (E*G - F*F))
	k := (L*N - M*M) / (E*G - F*F)
	d := math.Sqrt(math.Max(0, h*h-k))
	if N/G > h { // Euler: the profile's own curvature is nearer to the larger one
		return h + d
	}
	return h - d
}
