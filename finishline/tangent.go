package finishline

import "math"

// lineSums are running sums of a profile, so that the straight line through
// any run of samples is fitted in constant time: entry i is over the samples
// before i.
type lineSums []lineSum

type lineSum struct{ r, z, ir, iz float64 }

// sumsOf appends the running sums of a profile to an empty slice.
func sumsOf(out lineSums, r, z []float64) lineSums {
	var s lineSum
	out = append(out, s)
	for i := range r {
		x := float64(i)
		s = lineSum{s.r + r[i], s.z + z[i], s.ir + x*r[i], s.iz + x*z[i]}
		out = append(out, s)
	}
	return out
}

// line is a straight fit r = R + DR (i - C), z = Z + DZ (i - C) over samples.
type line struct{ c, r, z, dr, dz float64 }

func (l line) at(i float64) point { return point{l.r + l.dr*(i-l.c), l.z + l.dz*(i-l.c)} }

// fit returns the least-squares line through samples lo to hi-1, clamped to
// the profile; ok is false with fewer than two.
func (p *Profile) fit(lo, hi int) (line, bool) {
	lo, hi = max(lo, 0), min(hi, len(p.R))
	n := float64(hi - lo)
	if n < 2 {
		return line{}, false
	}
	c := (float64(lo) + float64(hi-1)) / 2
	v := n * (n*n - 1) / 12
	from, to := &p.sums[lo], &p.sums[hi]
	mr, mz := (to.r-from.r)/n, (to.z-from.z)/n
	dr := (to.ir - from.ir - c*n*mr) / v
	dz := (to.iz - from.iz - c*n*mz) / v
	return line{c, mr, mz, dr, dz}, true
}

// steep is the angle of a walk direction from straight down, degrees: 0 down
// a vertical wall, 90 straight outward, above 90 climbing, negative when it
// goes inward while going down (an undercut).
func (l line) steep() float64 { return math.Atan2(l.dr, -l.dz) * 180 / math.Pi }

// steeper reports whether that is within 45 degrees: a wall is inclined less to
// the axis (definition of the line angles).
func (l line) steeper() bool { return math.Abs(l.dr) < -l.dz }

// Steep returns the inclination of the profile around sample i, fitted over
// half samples to either side.
func (p *Profile) Steep(i, half int) float64 {
	l, ok := p.fit(i-half, i+half+1)
	if !ok {
		return math.NaN()
	}
	return l.steep()
}

// window says over which samples the turn at a point is taken: from near to
// far samples away, on either side.
type window struct{ near, far int }

// turnWindow is the window for surfaces with the given facet edge length. The
// definition of legible looks 0.2 mm to either side; coarse facets cannot
// show that and are looked at over 1.3 of their edges.
func turnWindow(spacing float64) window {
	far := math.Max(0.2, 1.3*spacing)
	return window{near: 1, far: int(math.Round(far / Step))}
}

// turn returns the convex turn at sample i in degrees with the lines before
// and after; ok is false near the ends of the profile.
func (p *Profile) turn(i int, w window) (t float64, before, after line, ok bool) {
	if i-w.far < 0 || i+w.far >= len(p.R) {
		return 0, before, after, false
	}
	before, _ = p.fit(i-w.far, i-w.near+1)
	after, _ = p.fit(i+w.near, i+w.far+1)
	cross := before.dr*after.dz - before.dz*after.dr
	dot := before.dr*after.dr + before.dz*after.dz
	return -math.Atan2(cross, dot) * 180 / math.Pi, before, after, true
}

// mayTurn reports whether the turn at sample i may be leastTurn or more, from
// the directions of its two lines alone, for a fraction of the work.
func (p *Profile) mayTurn(i int, w window) bool {
	if i-w.far < 0 || i+w.far >= len(p.R) {
		return false
	}
	br, bz := p.sums.along(i-w.far, i-w.near+1)
	ar, az := p.sums.along(i+w.near, i+w.far+1)
	convex, dot := bz*ar-br*az, br*ar+bz*az
	return convex > 0 && convex >= almostTurn*dot
}

// almostTurn is the tangent of a turn a little below leastTurn.
const almostTurn = 0.1

// along is the direction of the line through samples lo to hi-1, of any length.
func (s lineSums) along(lo, hi int) (dr, dz float64) {
	a, b, c := &s[lo], &s[hi], (float64(lo)+float64(hi-1))/2
	return b.ir - a.ir - c*(b.r-a.r), b.iz - a.iz - c*(b.z-a.z)
}

// Smooth returns the distance from the axis at sample i on the straight line
// fitted over half samples to either side.
func (p *Profile) Smooth(i, half int) float64 {
	if half < 1 {
		return p.R[i]
	}
	l, _ := p.fit(i-half, i+half+1)
	return l.at(float64(i)).r
}

// TurnAt returns the turn at sample i between the lines over half samples
// before and after, degrees, convex positive; 0 near the profile's ends.
func (p *Profile) TurnAt(i, half int) float64 {
	t, _, _, ok := p.turn(i, window{near: 1, far: half})
	if !ok {
		return 0
	}
	return t
}

// meetNear is how many samples beside a crease are left out of the lines on
// its sides, which facets blur, and meetWithin how far from the profile, mm,
// those lines may meet.
const (
	meetNear   = 3
	meetWithin = 0.1
)

// Meet returns where the lines over half samples before and after sample i
// meet; ok is false near the profile's ends, for lines nearly parallel, and
// where they meet far from the sample.
func (p *Profile) Meet(i, half int) (r, z float64, ok bool) {
	if i-half < 0 || i+half >= p.Len() || p.gapWithin(i, half) {
		return 0, 0, false
	}
	a, _ := p.fit(i-half, i-meetNear+1)
	b, _ := p.fit(i+meetNear, i+half+1)
	det := a.dr*b.dz - a.dz*b.dr
	if math.Abs(det) < 0.25*math.Hypot(a.dr, a.dz)*math.Hypot(b.dr, b.dz) {
		return 0, 0, false
	}
	t := ((b.r-a.r)*b.dz - (b.z-a.z)*b.dr) / det
	x := point{a.r + t*a.dr, a.z + t*a.dz}
	return x.r, x.z, x.dist(point{p.R[i], p.Z[i]}) < meetWithin
}
