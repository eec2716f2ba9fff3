package phantom

import (
	"math"

	"crownassay/geom"
)

// cellStep is the spacing of the points that define a cell's border, mm.
const cellStep = 0.05

// cell is the patch of one tooth: its border runs through the papillae to the
// neighbouring cells and along the free edges of the scan. Points are in arch
// coordinates, once round the tooth with rising azimuth.
type cell struct {
	frame
	line []geom.Vec
	az   []float64 // of line, in the tooth's frame, rising
}

// papilla describes the seam between two cells: a plane through p square to
// the arch, from the oral to the buccal edge of the scan.
type papilla struct {
	p, buccal geom.Vec
	oral, out float64 // reach to both sides, mm
	margin    float64 // height of the gingival margin, arch z
	peak      float64 // height of the papilla above it
	half      float64 // half width of the papilla
	up        float64
}

// at returns the seam point at the distance v to buccal: the papilla between
// the teeth, and beyond it the same slope as in the middle of a tooth, a
// little hollow.
func (s *papilla) at(v float64) geom.Vec {
	t, reach := math.Abs(v), s.out
	if v < 0 {
		reach = s.oral
	}
	edge := 0.8 * s.half
	z := s.peak*bump(t/s.half) + 0.2*step(t/edge)
	if t > edge {
		z += gumHeight(point2{edge, 0}, point2{reach, -5}, 0.75, t) - 0.1*bump(2*(t-edge)/(reach-edge)-1)
	}
	q := s.p.Add(s.buccal.Mul(v))
	q.Z = s.margin + s.up*z
	return q
}

// gumHeight is the height of the gingival curve from a to b at the radius r.
func gumHeight(a, b point2, leave, r float64) float64 {
	lo, hi := 0.0, 1.0
	for range 50 {
		v := (lo + hi) / 2
		if gumCurve(a, b, leave, v).r < r {
			lo = v
		} else {
			hi = v
		}
	}
	return gumCurve(a, b, leave, lo).z
}

// points samples the seam from the oral to the buccal end with about the
// given spacing; both ends are included.
func (s *papilla) points(spacing float64) []geom.Vec {
	n := max(2, int(math.Round((s.out+s.oral)/spacing)))
	out := make([]geom.Vec, n+1)
	for i := range out {
		out[i] = s.at(-s.oral + (s.out+s.oral)*float64(i)/float64(n))
	}
	return out
}

// edgePoints samples the free edge from a over mid to b, a parabola in plan,
// without its ends; it hangs a little between them.
func edgePoints(a, mid, b geom.Vec, spacing float64) []geom.Vec {
	n := max(2, int(math.Round(a.Dist(b)/spacing)))
	out := make([]geom.Vec, 0, n)
	for i := 1; i < n; i++ {
		t := float64(i) / float64(n)
		c := mid.Mul(2).Sub(a.Lerp(b, 0.5))
		p := a.Lerp(c, t).Lerp(c.Lerp(b, t), t)
		out = append(out, p)
	}
	return out
}

// newCell joins mesial seam, buccal edge, distal seam and oral edge. mesial
// and distal are seen from the tooth; azimuth must rise along the line.
func newCell(f frame, mesial, distal []geom.Vec, spacing float64) *cell {
	buccal, oral := f.edgeMiddles(mesial, distal)
	line := outlineOf(mesial, distal, buccal, oral, spacing)
	c := &cell{frame: f}
	start := 0
	az := make([]float64, len(line))
	for i, p := range line {
		q := f.toTooth(p)
		az[i] = math.Atan2(q.Y, q.X)
		if az[i] < az[start] {
			start = i
		}
	}
	for i := range line {
		k := (start + i) % len(line)
		c.line = append(c.line, line[k])
		c.az = append(c.az, az[k])
	}
	return c
}

// edgeMiddles returns the middles of the free edges: as far from the arch's
// line as the seams' ends, a little lower.
func (f *frame) edgeMiddles(mesial, distal []geom.Vec) (buccal, oral geom.Vec) {
	middle := func(p, q geom.Vec) geom.Vec {
		a, b := f.toTooth(p), f.toTooth(q)
		axis := f.toTooth(mesial[len(mesial)/2].Lerp(distal[len(distal)/2], 0.5))
		y := (a.Y+b.Y)/2 - axis.Y
		return f.toArch(geom.Vec{Y: y, Z: math.Min(a.Z, b.Z) - 0.1})
	}
	n, m := len(mesial), len(distal)
	return middle(mesial[n-1], distal[m-1]), middle(mesial[0], distal[0])
}

// outlineOf runs oral to buccal along the mesial seam, along the buccal edge,
// back along the distal seam and the oral edge: rising azimuth.
func outlineOf(mesial, distal []geom.Vec, buccal, oral geom.Vec, spacing float64) []geom.Vec {
	n, m := len(mesial), len(distal)
	line := append([]geom.Vec{}, mesial...)
	line = append(line, edgePoints(mesial[n-1], buccal, distal[m-1], spacing)...)
	for i := m - 1; i >= 0; i-- {
		line = append(line, distal[i])
	}
	return append(line, edgePoints(distal[0], oral, mesial[0], spacing)...)
}

// at returns where the ray of azimuth a leaves the cell: radius and height in
// the tooth's frame, linear between the points of the line.
func (c *cell) at(a float64) (r, z float64) {
	a = turn(a)
	lo, hi := 0, len(c.az)
	for lo < hi {
		mid := (lo + hi) / 2
		if c.az[mid] > a {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	i, j := (lo+len(c.az)-1)%len(c.az), lo%len(c.az)
	p, q := c.toTooth(c.line[i]), c.toTooth(c.line[j])
	sn, cs := math.Sincos(a)
	dp, dq := p.Y*cs-p.X*sn, q.Y*cs-q.X*sn
	t := 0.5
	if dp != dq {
		t = dp / (dp - dq)
	}
	x := p.Lerp(q, t)
	return x.X*cs + x.Y*sn, x.Z
}
