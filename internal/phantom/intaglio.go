package phantom

import (
	"context"
	"math"

	"crownassay/geom"
)

// intaglio is the inner surface of a crown: in the half plane of each azimuth
// the preparation's profile, moved out along its normal by the gap, continued
// straight beyond the finish line and cut off at the margin edge.
//
// Its points are named by azimuth and running length l: the preparation's mean
// lengths up to the finish line, then plain millimetres.
type intaglio struct {
	prep     *prepSheet
	uEdge    float64 // profile parameter of the finish line
	lEdge    float64 // its running length
	gap      *band   // marginal
	wall     float64
	occlusal float64
	seal     float64 // the marginal gap reaches so far up
	bevel    float64 // width of the bevel beyond that
	tight    []bulge
	error    *wave // of a milled copy; nil for none
	end      loop  // running length of the margin edge
}

// sealRun is the way over which the gap widens from the marginal gap to the
// cement space, mm: ended at 1 mm above the finish line with the usual seal.
const sealRun = 0.6

// newIntaglio cuts a cavity after p; margin(a) is the wanted reach of its edge
// beyond the finish line.
func newIntaglio(ctx context.Context, p *prep, c *Crown, reach func(a float64) float64) (*intaglio, error) {
	i := &intaglio{prep: newPrepSheet(p), uEdge: segLedge, gap: c.Gap.band(), wall: c.Wall, occlusal: c.Occlusal, seal: c.Seal, bevel: c.Edge}
	if p.shoulder {
		i.uEdge = segRoot
	}
	i.lEdge = i.prep.from[int(i.uEdge)]
	loops, err := newLoops(ctx, 1, func(a float64) []float64 { return []float64{i.reachAt(a, reach(a))} })
	if err == nil {
		i.end = loops[0]
	}
	return i, err
}

// reachAt solves by secants for the running length whose point reaches h
// beyond the finish line.
func (i *intaglio) reachAt(a, h float64) float64 {
	f := i.prep.radius.at(a) + h
	miss := func(l float64) float64 { return i.profile(a, l).r - f }
	l0, l1 := i.lEdge+h, i.lEdge+h+1e-3
	f0, f1 := miss(l0), miss(l1)
	for range 40 {
		if f1 == f0 || math.Abs(f1) < 1e-12 {
			break
		}
		l0, l1 = l1, l1-f1*(l1-l0)/(f1-f0)
		f0, f1 = f1, miss(l1)
	}
	return l1
}

// foot returns the point of the extended preparation with running length l, its
// outward normal in the half plane, and the profile parameter.
func (i *intaglio) foot(s *section, l float64) (p, n point2, u float64) {
	const e = 1e-6
	u = math.Min(i.prep.u(l), i.uEdge)
	k := math.Floor(math.Min(u, i.uEdge-e))
	lo, hi := math.Max(k, u-e), math.Min(k+1-1e-12, u+e)
	d := s.at(hi).from(s.at(lo))
	p = s.at(math.Min(u, i.uEdge-1e-12))
	if l > i.lEdge {
		p = s.end[segRoot].add(d, l-i.lEdge)
	}
	return p, point2{-d.z, d.r}, u
}

// profile is the intaglio's point in the half plane of azimuth a.
func (i *intaglio) profile(a, l float64) point2 {
	const e = 1e-4
	s, s0, s1 := i.prep.section(a), i.prep.section(a-e), i.prep.section(a+e)
	p, n, u := i.foot(&s, l)
	p0, _, _ := i.foot(&s0, l)
	p1, _, _ := i.foot(&s1, l)
	// The half plane cuts the surface askew: a step along n counts for the
	// cosine between n and the surface's normal.
	c := 0.0
	if p.r > 1e-9 {
		c = ((p1.r-p0.r)*n.r + (p1.z-p0.z)*n.z) / (2 * e * p.r)
	}
	t := i.space(a, u, p, s.end[segRoot])
	return p.add(n, t*math.Sqrt(1+c*c))
}

// space is the gap over the preparation's point p with parameter u; f is the
// finish line's point.
func (i *intaglio) space(a, u float64, p, f point2) float64 {
	t := i.wall + (i.occlusal-i.wall)*step(segLine+1-u)
	m := i.gap.at(a)
	x := math.Hypot(p.r-f.r, p.z-f.z)
	t = m + (t-m)*step((x-i.seal)/sealRun)
	for _, b := range i.tight {
		t += b.at(a, p)
	}
	if i.error != nil {
		t += i.error.at(spin(a, p)) * step((x-i.seal)/sealRun)
	}
	return t
}

// bulge is a local change in the half plane: a cosine hill about a middle.
type bulge struct {
	mid        geom.Vec
	half, rise float64
}

func (b *bulge) at(a float64, p point2) float64 {
	sn, cs := math.Sincos(a)
	return b.rise * bump(b.mid.Dist(geom.Vec{X: p.r * cs, Y: p.r * sn, Z: p.z})/b.half)
}

// bevelLean is the rise of a bevelled edge from the cavity outward.
const bevelLean = math.Pi / 4

// margin is the margin edge in the half plane of azimuth a: the outer one where
// the edge is bevelled.
func (i *intaglio) margin(a float64) point2 {
	return i.profile(a, i.end.at(a)).add(polar(bevelLean), i.bevel)
}

// The sheet of an intaglio: q runs evenly from the pole to the end of the
// cavity, then over the bevel.
func (i *intaglio) span() float64 { return i.lEdge + i.bevel }

func (i *intaglio) point(a, q float64) geom.Vec {
	p := i.profile(a, math.Min(1, q/i.lEdge)*i.end.at(a))
	if q > i.lEdge {
		p = p.add(polar(bevelLean), math.Min(q-i.lEdge, i.bevel))
	}
	return spin(a, p)
}

func (i *intaglio) grain(q float64) float64 { return 0.6 + 0.4*step((i.lEdge-q-0.5)/1.5) }

func (i *intaglio) edge() (float64, bool) { return i.lEdge, i.bevel > 0 }

// spin places a point of the half plane of azimuth a in space.
func spin(a float64, p point2) geom.Vec {
	sn, cs := math.Sincos(a)
	return geom.Vec{X: p.r * cs, Y: p.r * sn, Z: p.z}
}
