package phantom

import (
	"context"
	"math"

	"crownassay/geom"
	"crownassay/internal/par"
)

// cut is one section of the truth: the half plane of an azimuth about the
// placement axis, met with the formula by root finding.
type cut struct {
	s          *survey
	azimuth    float64  // radians
	d, n       geom.Vec // outward and square to the plane
	guess      float64  // formula azimuth near the cut
	finish     point2
	uIn, uLine float64 // profile parameters of the 45 degree points
	in, line   point2
	slope, off float64 // fitted wall r = off + slope z
	undercut   float64
}

// cutAll makes the 360 sections.
func (s *survey) cutAll(ctx context.Context) error {
	s.cuts = make([]cut, 360)
	return par.Do(ctx, len(s.cuts), 8, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			s.cuts[i] = s.cut(float64(i) * degree)
		}
	})
}

func (s *survey) cut(azimuth float64) cut {
	sn, cs := math.Sincos(azimuth)
	c := cut{s: s, azimuth: azimuth, guess: azimuth}
	c.d = s.m.Mul(cs).Add(s.b.Mul(sn))
	c.n = s.b.Mul(cs).Sub(s.m.Mul(sn))
	c.guess = c.formulaAzimuth(uFinish)
	c.finish = c.at(uFinish)
	c.uIn = c.inclined(segFillet, segFillet+1-1e-6)
	c.uLine = c.inclined(segLine+1e-6, segLine+1-1e-6)
	c.in, c.line = c.at(c.uIn), c.at(c.uLine)
	c.fit()
	return c
}

// formulaAzimuth solves for the azimuth at which the profile point u lies in
// the plane, by secants to 1e-12 mm.
func (c *cut) formulaAzimuth(u float64) float64 {
	f := func(a float64) float64 { return c.s.prep.point(a, u).Sub(c.s.origin).Dot(c.n) }
	a0, a1 := c.guess, c.guess+1e-4
	f0, f1 := f(a0), f(a1)
	for range 30 {
		if f1 == f0 || math.Abs(f1) < 1e-12 {
			break
		}
		a0, a1 = a1, a1-f1*(a1-a0)/(f1-f0)
		f0, f1 = f1, f(a1)
	}
	return a1
}

// space returns the surface point of the section with parameter u.
func (c *cut) space(u float64) geom.Vec { return c.s.prep.point(c.formulaAzimuth(u), u) }

// at returns the same in the section: outward and along the axis.
func (c *cut) at(u float64) point2 {
	d := c.space(u).Sub(c.s.origin)
	return point2{d.Dot(c.d), d.Dot(c.s.axis)}
}

// lean is the signed inclination to the axis of the profile walked upward:
// 0 along the axis, positive leaning inward.
func (c *cut) lean(u float64) float64 {
	const e = 1e-5
	k := math.Floor(u)
	lo, hi := c.at(math.Max(k, u-e)), c.at(math.Min(k+1-1e-12, u+e))
	return math.Atan2(hi.r-lo.r, lo.z-hi.z)
}

// inclined bisects for the 45 degree point between two parameters of an arc.
func (c *cut) inclined(lo, hi float64) float64 {
	rising := c.lean(hi) > c.lean(lo)
	for range 45 {
		u := (lo + hi) / 2
		if (c.lean(u) < math.Pi/4) == rising {
			lo = u
		} else {
			hi = u
		}
	}
	return (lo + hi) / 2
}

// fit lays the straight line through the middle half of the wall's height,
// least squares in r over even steps of z, and finds the undercut depth.
func (c *cut) fit() {
	const n = 120
	var w [n + 1]point2
	for i := range w {
		w[i] = c.at(c.uLine + (c.uIn-c.uLine)*float64(i)/n)
	}
	reach := math.Inf(-1)
	for _, q := range w {
		reach = math.Max(reach, q.r)
		c.undercut = math.Max(c.undercut, reach-q.r)
	}
	h := c.line.z - c.in.z
	var sz, sr, szz, szr float64
	const m = 200
	k := 0
	for i := range m {
		z := c.in.z + h*(0.75-0.5*(float64(i)+0.5)/m)
		for k < n-1 && w[k+1].z > z {
			k++
		}
		t := (z - w[k].z) / (w[k+1].z - w[k].z)
		r := w[k].r + t*(w[k+1].r-w[k].r)
		sz, sr, szz, szr = sz+z, sr+r, szz+z*z, szr+z*r
	}
	c.slope = (m*szr - sz*sr) / (m*szz - sz*sz)
	c.off = (sr - c.slope*sz) / m
}

func (c *cut) inclination() float64 { return math.Atan(-c.slope) / degree }
func (c *cut) width() float64       { return c.finish.r - c.off - c.slope*c.finish.z }
func (c *cut) height() float64      { return c.line.z - c.finish.z }

// spreadWall makes the patches of the axial wall, section by section.
func (s *survey) spreadWall(ctx context.Context) error {
	const steps = 60
	grid, err := s.grid(ctx, steps, func(c *cut, t float64) float64 { return c.uIn + (c.uLine-c.uIn)*t })
	if err != nil {
		return err
	}
	s.wall = make([][]patch, len(grid))
	for i, g := range grid {
		h := grid[(i+1)%len(grid)]
		for k := range steps {
			n := h[k+1].Sub(g[k]).Cross(g[k+1].Sub(h[k])).Mul(0.5)
			p := g[k].Add(g[k+1]).Add(h[k]).Add(h[k+1]).Mul(0.25)
			s.wall[i] = append(s.wall[i], patch{p, n.Unit(), n.Norm()})
		}
	}
	return nil
}

// grid places steps + 1 points on every section; at gives the parameter for
// the share t of the way.
func (s *survey) grid(ctx context.Context, steps int, at func(c *cut, t float64) float64) ([][]geom.Vec, error) {
	out := make([][]geom.Vec, len(s.cuts))
	err := par.Do(ctx, len(out), 8, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			c := &s.cuts[i]
			for k := range steps + 1 {
				out[i] = append(out[i], c.space(at(c, float64(k)/float64(steps))))
			}
		}
	})
	return out, err
}
