package finishline

import (
	"math"

	"crownassay/align"
	"crownassay/geom"
)

// Sections is how many half planes are cut around a preparation: one a
// degree.
const Sections = 360

// Curve is the finish line in a frame: distance from the axis and height at
// each degree of azimuth.
type Curve struct {
	R, Z    []float64
	Turn    []float64 // convex turn found there, degrees; 0 where none was
	Seen    []bool    // a candidate was found at this azimuth; else bridged
	Sharp   []bool    // the turn there is a legible one, holes of the scan apart
	Legible []bool    // legible by the definition
	Scatter float64   // mm: standard deviation of single sections about the curve
}

// newCurve returns a curve of which nothing is known yet.
func newCurve() *Curve {
	n := Sections
	return &Curve{R: make([]float64, n), Z: make([]float64, n), Turn: make([]float64, n),
		Seen: make([]bool, n), Sharp: make([]bool, n), Legible: make([]bool, n)}
}

// Point returns the finish line at azimuth index k in space.
func (c *Curve) Point(f align.Frame, k int) geom.Vec {
	k = (k%Sections + Sections) % Sections
	return f.At(float64(k), c.R[k], c.Z[k])
}

// Points returns the whole line in space.
func (c *Curve) Points(f align.Frame) []geom.Vec {
	out := make([]geom.Vec, len(c.R))
	for k := range out {
		out[k] = c.Point(f, k)
	}
	return out
}

// Share returns the share of the circumference, by length, that is legible.
func (c *Curve) Share(f align.Frame) float64 {
	all, good := 0.0, 0.0
	for k := range c.R {
		l := c.Point(f, k-1).Dist(c.Point(f, k+1)) / 2
		all += l
		if c.Legible[k] {
			good += l
		}
	}
	if all == 0 {
		return 0
	}
	return good / all
}

// smoothing is the least half width, degrees, over which single sections are
// smoothed into the curve: about 0.25 mm on a molar, the window of the turn.
const smoothing = 3

// smoother fits single sections over half degrees to either side, each with
// its weight; no weights are all 1.
type smoother struct {
	half   int
	weight []float64
}

func (s smoother) of(k int) float64 {
	if s.weight == nil {
		return 1
	}
	return s.weight[k]
}

// smooth fits a parabola in azimuth to the seen values around each azimuth
// and bridges what was not seen with a cubic from the ends of the gap.
func (s smoother) smooth(v []float64, seen []bool) []float64 {
	out := make([]float64, len(v))
	done := make([]bool, len(v))
	for k := range v {
		if !seen[k] {
			continue
		}
		out[k], _, done[k] = s.local(v, seen, k)
		if !done[k] {
			out[k], done[k] = v[k], true
		}
	}
	for k := range v {
		if !seen[k] {
			out[k] = across(v, seen, out, k)
		}
	}
	return out
}

// local fits v = b0 + b1 x + b2 x^2 to the seen values within half of k and
// returns b0 and b1; with few points a line or the mean.
func (sm smoother) local(v []float64, seen []bool, k int) (b0, b1 float64, ok bool) {
	half := sm.half
	var s [5]float64
	var t [3]float64
	n := len(v)
	for d := -half; d <= half; d++ {
		i := ((k+d)%n + n) % n
		if !seen[i] {
			continue
		}
		x := float64(d)
		w := sm.of(i) * (1 - x*x/float64((half+1)*(half+1)))
		pow := w
		for j := range 5 {
			s[j] += pow
			if j < 3 {
				t[j] += pow * v[i]
			}
			pow *= x
		}
	}
	det := s[0]*(s[2]*s[4]-s[3]*s[3]) - s[1]*(s[1]*s[4]-s[3]*s[2]) + s[2]*(s[1]*s[3]-s[2]*s[2])
	if det > 1e-6 {
		b0 = (t[0]*(s[2]*s[4]-s[3]*s[3]) - s[1]*(t[1]*s[4]-s[3]*t[2]) + s[2]*(t[1]*s[3]-s[2]*t[2])) / det
		b1 = (s[0]*(t[1]*s[4]-t[2]*s[3]) - t[0]*(s[1]*s[4]-s[3]*s[2]) + s[2]*(s[1]*t[2]-t[1]*s[2])) / det
		return b0, b1, true
	}
	if s[0] > 0 {
		return t[0] / s[0], 0, true
	}
	return 0, 0, false
}

// slopeHalf is how many degrees beside a gap its end slopes are taken from.
const slopeHalf = 8

// across bridges azimuth k of a gap with the cubic through the ends of the
// gap and their slopes.
func across(v []float64, seen []bool, smoothed []float64, k int) float64 {
	n := len(v)
	lo, hi := k, k
	for i := 0; i < n && !seen[((lo%n)+n)%n]; i++ {
		lo--
	}
	for i := 0; i < n && !seen[hi%n]; i++ {
		hi++
	}
	a, b := ((lo%n)+n)%n, hi%n
	if !seen[a] || !seen[b] || hi == lo {
		return v[k]
	}
	va, vb := smoothed[a], smoothed[b]
	sa, sb := endSlope(v, seen, a, -1), endSlope(v, seen, b, 1)
	w := float64(hi - lo)
	t := float64(k-lo) / w
	h00, h10 := (1+2*t)*(1-t)*(1-t), t*(1-t)*(1-t)
	h01, h11 := t*t*(3-2*t), t*t*(t-1)
	return h00*va + h10*w*sa + h01*vb + h11*w*sb
}

// endSlope fits a straight line to the seen values on one side of a gap's end
// and returns its slope per degree.
func endSlope(v []float64, seen []bool, k, side int) float64 {
	var n, sx, sy, sxx, sxy float64
	for d := range slopeHalf + 1 {
		i := ((k+side*d)%len(v) + len(v)) % len(v)
		if !seen[i] {
			continue
		}
		x := float64(side * d)
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+v[i], sxx+x*x, sxy+x*v[i]
	}
	den := n*sxx - sx*sx
	if n < 3 || math.Abs(den) < 1e-12 {
		return 0
	}
	return (n*sxy - sx*sy) / den
}
