package phantom

import (
	"context"
	"math"

	"crownassay/geom"
)

// finishPoints is how many points the finish line is integrated with: the
// chord error of its length is below 1e-6 of it.
const finishPoints = 1440

// survey is the preparation with its truth frame, all in the tooth's frame.
type survey struct {
	*prep
	finish  []geom.Vec // finish line, evenly in the formula's azimuth
	length  float64
	origin  geom.Vec
	axis    geom.Vec // placement
	m, b    geom.Vec // mesial and buccal, square to the axis
	free    bool
	normals []patch
	cuts    []cut
	wall    [][]patch // [section][step], inner end to line angle
}

// patch is a piece of wall: its place, outward unit normal and area.
type patch struct {
	p, n geom.Vec
	area float64
}

// newSurvey works out everything that needs the preparation alone.
func newSurvey(ctx context.Context, p *prep) (*survey, error) {
	s := &survey{prep: p}
	s.traceFinish()
	s.normals = wallPatches(p)
	s.place()
	s.m = geom.Vec{X: 1}.Reject(s.axis).Unit()
	s.b = s.axis.Cross(s.m)
	if err := s.cutAll(ctx); err != nil {
		return nil, err
	}
	return s, s.spreadWall(ctx)
}

// traceFinish samples the finish line and its centroid by arc length.
func (s *survey) traceFinish() {
	for i := range finishPoints {
		s.finish = append(s.finish, s.prep.point(2*math.Pi*float64(i)/finishPoints, uFinish))
	}
	for i, p := range s.finish {
		q := s.finish[(i+1)%finishPoints]
		d := p.Dist(q)
		s.length += d
		s.origin = s.origin.Add(p.Lerp(q, 0.5).Mul(d))
	}
	s.origin = s.origin.Mul(1 / s.length)
}

// normalAt returns the formula's outward normal times the area that da and
// du span, by central differences.
func (p *prep) normalAt(a, u float64) geom.Vec {
	const e = 1e-5
	k := math.Floor(u)
	lo, hi := math.Max(k, u-e), math.Min(k+1-1e-12, u+e)
	da := p.point(a+e, u).Sub(p.point(a-e, u)).Mul(1 / (2 * e))
	s := p.section(a)
	du := s.place(a, hi).Sub(s.place(a, lo)).Mul(1 / (hi - lo))
	// u runs down and out: out x round gives the inside for the wall.
	return du.Cross(da)
}

// wallPatches samples the straight wall evenly in azimuth and height.
func wallPatches(p *prep) []patch {
	const turns = 720
	steps := 8
	if len(p.dents) > 0 {
		steps = 80
	}
	var out []patch
	for i := range turns {
		a := 2 * math.Pi * float64(i) / turns
		for k := range steps {
			u := segWall + (float64(k)+0.5)/float64(steps)
			n := p.normalAt(a, u)
			area := n.Norm() * 2 * math.Pi / turns / float64(steps)
			out = append(out, patch{p.point(a, u), n.Unit(), area})
		}
	}
	return out
}

// tilted returns the axis leaned by x to mesial and y to buccal (tangents).
func tilted(x, y float64) geom.Vec { return geom.Vec{X: x, Y: y, Z: 1}.Unit() }

// place finds the placement axis by its definition.
func (s *survey) place() {
	least := func(x, y float64) float64 {
		d, m := tilted(x, y), math.Inf(1)
		for i := range s.normals {
			m = math.Min(m, d.Dot(s.normals[i].n))
		}
		return m
	}
	x, y := peak2(least, 0.4)
	s.axis = tilted(x, y)
	s.free = least(x, y) >= 0
	if !s.free {
		s.axis = s.leastUndercut(x, y)
	}
}

// peak2 finds the top of a quasi-concave function over a square, by golden
// sections inside golden sections.
func peak2(f func(x, y float64) float64, reach float64) (x, y float64) {
	best := func(x float64) (float64, float64) {
		return golden(func(y float64) float64 { return f(x, y) }, reach)
	}
	x, _ = golden(func(x float64) float64 { _, v := best(x); return v }, reach)
	y, _ = best(x)
	return x, y
}

// golden finds the top of a quasi-concave function over -reach..reach to
// about 1e-7.
func golden(f func(float64) float64, reach float64) (x, v float64) {
	g := (math.Sqrt(5) - 1) / 2
	lo, hi := -reach, reach
	x0, x1 := hi-g*(hi-lo), lo+g*(hi-lo)
	f0, f1 := f(x0), f(x1)
	for hi-lo > 1e-7 {
		if f0 > f1 {
			hi, x1, f1 = x1, x0, f0
			x0 = hi - g*(hi-lo)
			f0 = f(x0)
		} else {
			lo, x0, f0 = x0, x1, f1
			x1 = lo + g*(hi-lo)
			f1 = f(x1)
		}
	}
	if f0 > f1 {
		return x0, f0
	}
	return x1, f1
}

// leastUndercut searches ever finer grids about the best compromise for the
// direction with the smallest area of wall that faces away from it.
func (s *survey) leastUndercut(x, y float64) geom.Vec {
	best, bx, by := math.Inf(1), x, y
	for step := 0.02; step > 1e-4; step /= 2 {
		cx, cy := bx, by
		for i := -6; i <= 6; i++ {
			for j := -6; j <= 6; j++ {
				tx, ty := cx+step*float64(i), cy+step*float64(j)
				if v := facingAway(s.normals, tilted(tx, ty), 0); v < best {
					best, bx, by = v, tx, ty
				}
			}
		}
	}
	return tilted(bx, by)
}

// facingAway is the area of the patches whose normal leans away from d by
// more than the angle whose sine is given.
func facingAway(w []patch, d geom.Vec, sine float64) float64 {
	area := 0.0
	for i := range w {
		if w[i].n.Dot(d) < -sine {
			area += w[i].area
		}
	}
	return area
}
