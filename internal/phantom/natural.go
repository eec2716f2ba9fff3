package phantom

import (
	"math"

	"crownassay/geom"
)

// Size of the table that spreads a natural tooth's rings evenly.
const (
	tableTurns = 96
	tableSteps = 64
)

// natural is the sheet of an unprepared tooth: crown, gingival margin,
// gingiva. A crown point lies on a ray from the centre at some elevation.
type natural struct {
	level  func(p geom.Vec) float64 // tooth frame; negative inside
	centre float64                  // height of the rays' start
	margin sides                    // height of the gingival margin
	border func(a float64) (r, z float64)
	elev   [][]float64 // elevation [turn][step], even along the profile
	reach  [][]float64 // distance from the centre
	crownQ float64
	gumQ   float64
}

func newNatural(level func(geom.Vec) float64, centre float64, margin sides, border func(float64) (float64, float64)) *natural {
	n := &natural{level: level, centre: centre, margin: margin, border: border}
	n.elev = make([][]float64, tableTurns)
	n.reach = make([][]float64, tableTurns)
	for i := range tableTurns {
		n.tabulate(i)
	}
	n.crownQ /= tableTurns
	n.gumQ /= tableTurns
	return n
}

// tabulate walks one profile down to the margin and spreads it evenly.
func (n *natural) tabulate(i int) {
	a := 2 * math.Pi * float64(i) / tableTurns
	low := n.marginElevation(a)
	var e, r, l [tableSteps + 1]float64
	guess := 4.0
	var last geom.Vec
	for k := range e {
		e[k] = math.Pi/2 + (low-math.Pi/2)*float64(k)/tableSteps
		r[k] = n.cast(a, e[k], guess)
		guess = r[k]
		p := n.on(a, e[k], r[k])
		if k > 0 {
			l[k] = l[k-1] + p.Dist(last)
		}
		last = p
	}
	n.elev[i], n.reach[i] = even2(e[:], r[:], l[:])
	br, bz := n.border(a)
	n.crownQ += l[tableSteps]
	n.gumQ += math.Hypot(br-math.Hypot(last.X, last.Y), bz-last.Z)
}

// even2 resamples e and r at even steps of the rising l.
func even2(e, r, l []float64) (es, rs []float64) {
	n := len(l) - 1
	es, rs = make([]float64, n+1), make([]float64, n+1)
	k := 0
	for i := range es {
		want := l[n] * float64(i) / float64(n)
		for k < n-1 && l[k+1] < want {
			k++
		}
		t := (want - l[k]) / (l[k+1] - l[k])
		es[i], rs[i] = e[k]+t*(e[k+1]-e[k]), r[k]+t*(r[k+1]-r[k])
	}
	return es, rs
}

// marginElevation finds the elevation of the ray that meets the crown at the
// height of the margin, by secants.
func (n *natural) marginElevation(a float64) float64 {
	z, r := n.margin.at(a), 5.0
	f := func(e float64) float64 {
		r = n.cast(a, e, r)
		return n.centre + r*math.Sin(e) - z
	}
	e0, e1 := -0.4, -0.3
	f0, f1 := f(e0), f(e1)
	for range 20 {
		if f1 == f0 || math.Abs(f1) < 1e-9 {
			break
		}
		e := math.Max(-1.35, math.Min(0.6, e1-f1*(e1-e0)/(f1-f0)))
		e0, f0, e1 = e1, f1, e
		f1 = f(e)
	}
	return e1
}

func (n *natural) on(a, e, r float64) geom.Vec {
	sa, ca := math.Sincos(a)
	se, ce := math.Sincos(e)
	return geom.Vec{X: r * ce * ca, Y: r * ce * sa, Z: n.centre + r*se}
}

// castResidue is how near to zero the level counts as met, mm; ten thousand
// times the rounding of coordinates of 10 mm.
const castResidue = 1e-11

// cast returns the distance along the ray to the crown, by secants kept in a
// bracket.
func (n *natural) cast(a, e, guess float64) float64 {
	sa, ca := math.Sincos(a)
	se, ce := math.Sincos(e)
	f := func(r float64) float64 {
		return n.level(geom.Vec{X: r * ce * ca, Y: r * ce * sa, Z: n.centre + r*se})
	}
	lo, hi := 0.0, 16.0
	r0 := guess
	f0 := f(r0)
	lo, hi = narrow(lo, hi, r0, f0)
	r1 := r0 - 1.2*f0
	for range 60 {
		if math.Abs(f0) < castResidue {
			return r0
		}
		if !(r1 > lo && r1 < hi) {
			r1 = (lo + hi) / 2
		}
		f1 := f(r1)
		lo, hi = narrow(lo, hi, r1, f1)
		next := (lo + hi) / 2
		if f1 != f0 {
			next = r1 - f1*(r1-r0)/(f1-f0)
		}
		r0, f0, r1 = r1, f1, next
	}
	return r0
}

func narrow(lo, hi, r, f float64) (float64, float64) {
	if f < 0 {
		return math.Max(lo, r), hi
	}
	return lo, math.Min(hi, r)
}

// lookup interpolates elevation and a first guess of the distance.
func (n *natural) lookup(a, t float64) (e, r float64) {
	x := a / (2 * math.Pi)
	x = (x - math.Floor(x)) * tableTurns
	i := int(x)
	u := x - float64(i)
	i, j := i%tableTurns, (i+1)%tableTurns
	y := t * tableSteps
	k := min(int(y), tableSteps-1)
	v := y - float64(k)
	mix := func(m [][]float64) float64 {
		return (1-u)*((1-v)*m[i][k]+v*m[i][k+1]) + u*((1-v)*m[j][k]+v*m[j][k+1])
	}
	return mix(n.elev), mix(n.reach)
}

// crownPoint is the crown's point at azimuth a and the share t of its profile.
func (n *natural) crownPoint(a, t float64) geom.Vec {
	e, guess := n.lookup(a, t)
	return n.on(a, e, n.cast(a, e, guess))
}

// point implements sheet.
func (n *natural) point(a, q float64) geom.Vec {
	if q <= n.crownQ {
		return n.crownPoint(a, q/n.crownQ)
	}
	m := n.crownPoint(a, 1)
	br, bz := n.border(a)
	v := (q - n.crownQ) / n.gumQ
	c := gumCurve(point2{math.Hypot(m.X, m.Y), m.Z}, point2{br, bz}, 0.75, v)
	sn, cs := math.Sincos(a)
	return geom.Vec{X: c.r * cs, Y: c.r * sn, Z: c.z}
}

func (n *natural) span() float64 { return n.crownQ + n.gumQ }

func (n *natural) grain(q float64) float64 {
	return 1 + 0.8*step((q-n.crownQ-1)/3)
}

func (n *natural) edge() (float64, bool) { return 0, false }
