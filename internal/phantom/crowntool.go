package phantom

import "math"

// toolLeft fills the deepest material that a ball of the tool's tip radius
// leaves in the cavity, over all sections of the formula. Each section is
// opened by a circle: exact on a body of revolution, and within a few
// hundredths of the value where the line angle runs askew.
func (r *restoration) toolLeft(f *findings) {
	const turns = 90
	most, at, place := 0.0, 0.0, point2{}
	for i := range turns {
		a := 2 * math.Pi * float64(i) / turns
		if d, p := r.in.left(a, r.spec.Tool); d > most {
			most, at, place = d, a, p
		}
	}
	f.put("tool.left", most, spin(at, place))
}

// opening is the profile of a cavity and a circle that runs in it.
type opening struct {
	*intaglio
	a      float64
	radius float64
	at     []float64 // running lengths of the samples
	line   []point2
	sag    []float64 // of the chord that ends at each sample
}

// left opens the section at azimuth a by a circle of the given radius and
// returns the deepest rest and where it is.
func (i *intaglio) left(a, radius float64) (float64, point2) {
	o := &opening{intaglio: i, a: a, radius: radius}
	o.sample()
	centres := o.centres()
	deepest, at := 0.0, point2{}
	for _, q := range o.line[1 : len(o.line)-1] {
		best := math.Inf(1)
		for _, c := range centres {
			best = math.Min(best, math.Hypot(c.r-q.r, c.z-q.z)-radius)
		}
		if best > deepest {
			deepest, at = best, q
		}
	}
	return deepest, at
}

// sample takes the cavity's profile from the middle to the end of the wall,
// finely about the line angle.
func (o *opening) sample() {
	const coarse, fine = 100, 200
	put := func(from, to float64, n int) {
		for k := range n {
			l := from + (to-from)*(float64(k)+0.5)/float64(n)
			o.at = append(o.at, l)
			o.line = append(o.line, o.profile(o.a, l))
		}
	}
	lo, hi := o.prep.from[segLine], o.prep.from[segWall]
	put(0, lo, coarse)
	put(lo, hi, fine)
	put(hi, o.prep.from[segFillet], coarse)
	o.sag = make([]float64, len(o.at))
	for k := 1; k < len(o.at); k++ {
		o.sag[k] = o.profile(o.a, (o.at[k-1]+o.at[k])/2).offChord(o.line[k-1], o.line[k])
	}
}

// centre is that of the circle that touches the profile at l from the inside.
func (o *opening) centre(l float64) point2 {
	const e = 1e-5
	d := o.profile(o.a, l+e).from(o.profile(o.a, l-e))
	return o.profile(o.a, l).add(point2{-d.z, d.r}, -o.radius)
}

// centres lists the centres of circles that touch the profile and cut it
// nowhere, those where a stretch of them ends among them.
func (o *opening) centres() []point2 {
	var out []point2
	was := false
	for k := 1; k < len(o.at)-1; k++ {
		c := o.centre(o.at[k])
		fits := o.clear(c)
		if k > 1 && fits != was {
			edge := bisect(o.at[k-1], o.at[k], func(l float64) bool { return o.clear(o.centre(l)) == was })
			out = append(out, o.centre(edge))
		}
		if fits {
			out = append(out, c)
		}
		was = fits
	}
	return out
}

// fitSlack is how far a circle may cut into a chord of the profile, beyond its
// sag, mm: above what rounding does, below what counts.
const fitSlack = 2e-5

// clear reports whether the circle about c cuts no chord of the profile.
func (o *opening) clear(c point2) bool {
	for k := 1; k < len(o.line); k++ {
		if c.offChord(o.line[k-1], o.line[k]) < o.radius-o.sag[k]-fitSlack {
			return false
		}
	}
	return true
}

// offChord is the distance from p to the stretch from a to b.
func (p point2) offChord(a, b point2) float64 {
	dr, dz := b.r-a.r, b.z-a.z
	t := ((p.r-a.r)*dr + (p.z-a.z)*dz) / (dr*dr + dz*dz)
	t = math.Max(0, math.Min(1, t))
	return math.Hypot(p.r-a.r-t*dr, p.z-a.z-t*dz)
}
