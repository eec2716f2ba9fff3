package foreign

import (
	"math"

	"crownassay/geom"
	"crownassay/reading"
)

// Prep is a preparation by its half section at the mean radius. The section
// at an azimuth is that one, scaled sideways by the outline there.
type Prep struct {
	A, B    float64 // half axes of the finish line, mm, mesiodistal and buccolingual
	N       float64 // exponent of the outline: 0 or 2 an ellipse, 4 to 8 boxy
	Width   float64 // of the finish line at the mean radius, mm; 0 a feather edge
	Slope   float64 // degrees by which the ledge falls outward
	Height  float64 // of the top above the finish line, mm
	Taper   float64 // degrees, of one wall at the mean radius
	Rim     float64 // radius between wall and top, mm; 0 sharp
	Fillet  float64 // radius between wall and ledge, mm
	Root    float64 // degrees by which the root leans in going down
	Deep    float64 // of the root below the finish line, mm
	Sulcus  float64 // depth of the sulcus below the finish line, mm; 0 none
	Crest   float64 // height of the gingiva beyond it over the finish line, mm
	Outside float64 // how far gingiva reaches beyond the finish line, mm; 0 no gingiva
	Roof    float64 // degrees by which the top falls to the wall; negative: a valley
}

// mean is the radius of the half section's finish line.
func (p Prep) mean() float64 { return math.Sqrt(p.A * p.B) }

// Outline returns the finish line's distance from the axis at an azimuth in
// degrees.
func (p Prep) Outline(azimuth float64) float64 {
	n := p.N
	if n == 0 {
		n = 2
	}
	s, c := math.Sincos(azimuth * math.Pi / 180)
	return math.Pow(math.Pow(math.Abs(c/p.A), n)+math.Pow(math.Abs(s/p.B), n), -1/n)
}

// knot is a point of the half section; round is the radius of the corner.
type knot struct{ r, z, round float64 }

// path returns the corners of the half section from the axis outward.
func (p Prep) path() []knot {
	r, t, e := p.mean(), tan(p.Taper), tan(p.Slope)
	roof := tan(p.Roof)
	// rim: wall r - w - t z meets the roof H + roof (rim - r), so at H.
	out := []knot{{0, p.Height + roof*(r-p.Width-t*p.Height), 0}, {r - p.Width - t*p.Height, p.Height, p.Rim}}
	if p.Width > 0 {
		z := p.Width * e / (1 - t*e)
		out = append(out, knot{r - p.Width - t*z, z, p.Fillet})
	}
	out = append(out, knot{r, 0, 0})
	if p.Sulcus > 0 {
		in := r - p.Sulcus*tan(p.Root)
		out = append(out, knot{in, -p.Sulcus, 0}, knot{in + 0.15, -p.Sulcus, 0}, knot{r + 0.5, p.Crest, 0.3}, knot{r + p.Outside, p.Crest - 0.1, 0})
	} else {
		out = append(out, knot{r - p.Deep*tan(p.Root), -p.Deep, 0})
	}
	return out
}

func tan(deg float64) float64 { return math.Tan(deg * math.Pi / 180) }

// arcKnots is how many pieces a rounded corner is made of.
const arcKnots = 16

// rounded replaces rounded corners by arcs.
func rounded(path []knot) []knot {
	var out []knot
	for i, k := range path {
		if k.round == 0 || i == 0 || i == len(path)-1 {
			out = append(out, k)
			continue
		}
		c, from, to := corner(path[i-1], k, path[i+1])
		for j := range arcKnots + 1 {
			a := from + (to-from)*float64(j)/arcKnots
			out = append(out, knot{c.r + k.round*math.Cos(a), c.z + k.round*math.Sin(a), 0})
		}
	}
	return out
}

// corner returns the middle of the arc in a corner and its ends, radians.
func corner(a, k, b knot) (c knot, from, to float64) {
	ux, uz := unit2(a.r-k.r, a.z-k.z)
	vx, vz := unit2(b.r-k.r, b.z-k.z)
	half := math.Acos(ux*vx+uz*vz) / 2
	mx, mz := unit2(ux+vx, uz+vz)
	d := k.round / math.Sin(half)
	c = knot{k.r + d*mx, k.z + d*mz, 0}
	t := k.round / math.Tan(half)
	from = math.Atan2(k.z+t*uz-c.z, k.r+t*ux-c.r)
	to = from + math.Remainder(math.Atan2(k.z+t*vz-c.z, k.r+t*vx-c.r)-from, 2*math.Pi)
	return c, from, to
}

func unit2(x, z float64) (float64, float64) {
	l := math.Hypot(x, z)
	return x / l, z / l
}

// Field returns the solid below the half section down to z = -deep; beyond
// its end it goes on level.
func (p Prep) Field(deep float64) Field {
	path := rounded(p.path())
	last := path[len(path)-1]
	if p.Sulcus > 0 {
		path = append(path, knot{60, last.z, 0}, knot{60, -deep - 5, 0}, knot{0, -deep - 5, 0})
	} else {
		path = append(path, knot{last.r - (deep+5-p.Deep)*tan(p.Root), -deep - 5, 0}, knot{0, -deep - 5, 0})
	}
	mean := p.mean()
	return func(q geom.Vec) float64 {
		k := p.Outline(math.Atan2(q.Y, q.X)*180/math.Pi) / mean
		return polygon(path, math.Hypot(q.X, q.Y)/k, q.Z)
	}
}

// polygon is the signed distance to a closed polygon that ends on the axis.
func polygon(p []knot, r, z float64) float64 {
	dSq, in := math.Inf(1), false
	for i := range p {
		a, b := p[i], p[(i+1)%len(p)]
		if (a.z > z) != (b.z > z) && r < a.r+(z-a.z)/(b.z-a.z)*(b.r-a.r) {
			in = !in
		}
		if a.r == 0 && b.r == 0 {
			continue
		}
		x, y := b.r-a.r, b.z-a.z
		t := math.Max(0, math.Min(1, ((r-a.r)*x+(z-a.z)*y)/(x*x+y*y)))
		ex, ey := r-a.r-t*x, z-a.z-t*y
		dSq = math.Min(dSq, ex*ex+ey*ey)
	}
	if in {
		return -math.Sqrt(dSq)
	}
	return math.Sqrt(dSq)
}

// Line returns the finish line at an azimuth.
func (p Prep) Line(azimuth float64) geom.Vec {
	s, c := math.Sincos(azimuth * math.Pi / 180)
	r := p.Outline(azimuth)
	return geom.V(r*c, r*s, 0)
}

// TaperAt is the inclination of the wall's section at an azimuth, degrees.
func (p Prep) TaperAt(azimuth float64) float64 {
	return math.Atan(p.Outline(azimuth)/p.mean()*tan(p.Taper)) * 180 / math.Pi
}

// end45 returns height and mean radius where a rounded corner is inclined 45
// degrees in the section scaled by k: (-k sin a, cos a) at 45 degrees.
func (p Prep) end45(i int, k float64) knot {
	path := p.path()
	c := path[i]
	if c.round == 0 {
		return c
	}
	mid, from, to := corner(path[i-1], c, path[i+1])
	a := math.Atan(1 / k)
	if i == 2 { // the fillet is concave
		a -= math.Pi
	}
	a = mid45(a, from, to)
	return knot{mid.r + c.round*math.Cos(a), mid.z + c.round*math.Sin(a), 0}
}

// mid45 keeps an angle within an arc.
func mid45(a, from, to float64) float64 {
	lo, hi := math.Min(from, to), math.Max(from, to)
	for a > hi+1e-9 {
		a -= 2 * math.Pi
	}
	for a < lo-1e-9 {
		a += 2 * math.Pi
	}
	return math.Min(a, hi)
}

// HeightAt is the wall's height at an azimuth.
func (p Prep) HeightAt(azimuth float64) float64 {
	return p.end45(1, p.Outline(azimuth)/p.mean()).z
}

// Truth returns the exact readings.
func (p Prep) Truth() map[reading.ID]float64 {
	v := map[reading.ID]float64{
		"preparation.convergence.mesiodistal":  2 * p.TaperAt(0),
		"preparation.convergence.buccolingual": 2 * p.TaperAt(90),
		"preparation.height_to_base":           p.HeightAt(90) / (2 * p.B),
		"preparation.retention.area":           p.wallArea(),
		"preparation.undercut.depth":           0,
		"preparation.placement.window":         math.Atan(math.Min(p.A, p.B)/p.mean()*tan(p.Taper)) * 180 / math.Pi,
	}
	low, length, taper, width, least := math.Inf(1), 0.0, 0.0, 0.0, math.Inf(1)
	for a := range 360 {
		az := float64(a)
		low = math.Min(low, p.HeightAt(az))
		length += p.Line(az).Dist(p.Line(az + 1))
		taper += 2 * p.TaperAt(az) / 360
		w := p.Width * p.Outline(az) / p.mean()
		width, least = width+w/360, math.Min(least, w)
	}
	v["preparation.height.min"], v["finish_line.length"] = low, length
	v["preparation.convergence.mean"] = taper
	v["finish_line.width.min"], v["finish_line.width.mean"] = least, width
	return v
}

// wallArea integrates the area between the wall's 45 degree ends. For a
// surface rho(z) c(a), |X_a x X_z| = rho sqrt(|c'|^2 + rho'^2 |c|^4); fillets
// count as pieces of straight wall.
func (p Prep) wallArea() float64 {
	sum := 0.0
	path, mean := rounded(p.path()), p.mean()
	const h = 1e-4
	for a := 0.5; a < 360; a++ {
		k := p.Outline(a) / mean
		dk := (p.Outline(a+h) - p.Outline(a-h)) / mean / (2 * h * math.Pi / 180)
		top, low := p.end45(1, k), knot{mean, 0, 0}
		if p.Width > 0 {
			low = p.end45(2, k)
		}
		for i := 1; i < len(path) && path[i-1].z > 0; i++ {
			b, e := path[i-1], path[i]
			if b.z <= low.z || e.z >= top.z || b.z <= e.z {
				continue
			}
			t0, t1 := math.Min(b.z, top.z), math.Max(e.z, low.z)
			at := func(z float64) float64 { return e.r + (z-e.z)/(b.z-e.z)*(b.r-e.r) }
			slope := (b.r - e.r) / (b.z - e.z)
			sum += (at(t0) + at(t1)) / 2 * (t0 - t1) * math.Sqrt(dk*dk+k*k+slope*slope*k*k*k*k) * math.Pi / 180
		}
	}
	return sum
}
