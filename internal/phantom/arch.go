package phantom

import (
	"math"

	"crownassay/geom"
)

// frame places a tooth in the arch: origin at the cervix on the tooth's axis,
// unit directions mesial, buccal and occlusal.
type frame struct{ o, m, b, z geom.Vec }

func (f *frame) toArch(p geom.Vec) geom.Vec {
	return f.o.Add(f.m.Mul(p.X)).Add(f.b.Mul(p.Y)).Add(f.z.Mul(p.Z))
}

func (f *frame) toTooth(p geom.Vec) geom.Vec {
	d := p.Sub(f.o)
	return geom.Vec{X: d.Dot(f.m), Y: d.Dot(f.b), Z: d.Dot(f.z)}
}

// leftHanded reports whether the frame mirrors, so that facets must be turned.
func (f *frame) leftHanded() bool { return f.m.Cross(f.b).Dot(f.z) < 0 }

// side is the sign of x on which a quadrant lies in arch coordinates. It makes
// (mesial x buccal) . occlusal -1 in quadrants 1 and 3 and +1 in 2 and 4, as
// the input contract has it; this is the one place that knows.
func side(quadrant int) float64 {
	if quadrant == 1 || quadrant == 3 {
		return 1
	}
	return -1
}

// archCurve is half an ellipse (half width w, depth d) continued straight
// back, measured by arc length from the midline.
type archCurve struct {
	w, d float64
	len  []float64 // arc length at i * pi/2 / (len-1)
}

func newArchCurve(w, d float64) *archCurve {
	c := &archCurve{w: w, d: d, len: make([]float64, 513)}
	for i := 1; i < len(c.len); i++ {
		x0, y0 := c.ellipse(c.angle(i - 1))
		x1, y1 := c.ellipse(c.angle(i))
		c.len[i] = c.len[i-1] + math.Hypot(x1-x0, y1-y0)
	}
	return c
}

func (c *archCurve) angle(i int) float64 { return math.Pi / 2 * float64(i) / float64(len(c.len)-1) }

func (c *archCurve) ellipse(t float64) (x, y float64) {
	s, k := math.Sincos(t)
	return c.w * s, c.d * k
}

// at returns the place and the directions at arc length s from the midline;
// negative s is the other side. The sign turns the whole arch over.
func (c *archCurve) at(s, sign float64) (p, mesial, buccal geom.Vec) {
	if s < 0 {
		s, sign = -s, -sign
	}
	end := c.len[len(c.len)-1]
	if s >= end {
		return geom.Vec{X: sign * c.w, Y: end - s}, geom.Vec{Y: 1}, geom.Vec{X: sign}
	}
	i := 0
	for c.len[i+1] < s {
		i++
	}
	u := (s - c.len[i]) / (c.len[i+1] - c.len[i])
	t := c.angle(i) + u*(c.angle(1))
	x, y := c.ellipse(t)
	m := geom.Vec{X: -sign * c.w * math.Cos(t), Y: c.d * math.Sin(t)}.Unit()
	return geom.Vec{X: sign * x, Y: y}, m, geom.Vec{X: sign * m.Y, Y: -sign * m.X}
}

// slot numbers the places of an arch: 1 to 8 on the side of the prepared
// tooth, -1 to -8 on the other one.
type slot int

func (s slot) position() int {
	if s < 0 {
		return int(-s)
	}
	return int(s)
}

// next is the slot one further from the far end of the other side.
func (s slot) next() slot {
	if s == -1 {
		return 1
	}
	return s + 1
}

// slots returns the places from first to last.
func slots(first, last slot) []slot {
	var out []slot
	for s := first; s <= last; s = s.next() {
		out = append(out, s)
	}
	return out
}

// contactGap keeps the crowns of neighbouring teeth apart, mm.
const contactGap = 0.06

// bounds returns the arc lengths where the slot's tooth begins and ends.
func bounds(teeth *[9]anatomy, s slot) (from, to float64) {
	sum := 0.0
	for p := 1; p < s.position(); p++ {
		sum += teeth[p].md + contactGap
	}
	w := teeth[s.position()].md + contactGap
	if s < 0 {
		return -sum - w, -sum
	}
	return sum, sum + w
}

// seat returns the frame of the slot's tooth: its cervix at height z, its
// occlusal direction up (+1) or down (-1).
func seat(c *archCurve, teeth *[9]anatomy, s slot, sign, z, up float64) frame {
	from, to := bounds(teeth, s)
	p, m, b := c.at((from+to)/2, sign)
	p.Z = z
	return frame{p, m, b, geom.Vec{Z: up}}
}
