package align

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"crownassay/geom"
)

// findFront tells the front of the arch from the teeth: they grow narrower from
// cheek to tongue toward it (mean breadths of Ash and Nelson: lower molars 10.0
// to 10.5 mm, premolars 7.5 to 8.0, canine 7.5, incisors 6.0 to 6.5; from
// memory); where their breadths do not tell and most of an arch was scanned, it
// lies on the longer side.
func (a *Arch) findFront(pts []cell, f Frame, c [2]float64, rho float64) {
	d := math.Hypot(c[0], c[1])
	turn := f.X.Mul(c[1] / d).Add(f.Y.Mul(-c[0] / d)) // where angles about c grow at the preparation
	lo, hi := sides(pts, c)
	if rho*hi < ownReach || -rho*lo < ownReach {
		a.Only = a.along(turn.Mul(lo + hi))
		return
	}
	forward := 0.0
	if start, end, ok := breadths(pts, c, rho); ok && math.Abs(end-start) > narrowing*(start+end)/2 {
		forward = math.Copysign(1, start-end)
	} else if (hi-lo)*180/math.Pi > wideArch {
		if hi > -lo*longerSide {
			forward = 1
		} else if -lo > hi*longerSide {
			forward = -1
		}
	}
	if forward == 0 {
		return
	}
	a.Front, a.FrontKnown = a.along(turn.Mul(forward)), true
}

// along returns Along or its opposite, whichever runs with d.
func (a *Arch) along(d geom.Vec) geom.Vec {
	if d.Dot(a.Along) < 0 {
		return a.Along.Neg()
	}
	return a.Along
}

// breadths compares how broad the teeth are, square to the arch's circle, on
// either side of the origin: a straight line through the breadths of slices
// outside the preparation, read at the two ends of the scan.
func breadths(pts []cell, c [2]float64, rho float64) (start, end float64, ok bool) {
	n := int(2*frontReach/slice) + 1
	cuts := make([][]cell, n)
	mid := math.Atan2(-c[1], -c[0])
	for _, p := range pts {
		along := rho * math.Remainder(math.Atan2(p.y-c[1], p.x-c[0])-mid, 2*math.Pi)
		if k := int(math.Floor((along + frontReach) / slice)); k >= 0 && k < n {
			cuts[k] = append(cuts[k], p)
		}
	}
	var x, y []float64
	for k := range n {
		at := (float64(k)+0.5)*slice - frontReach
		if b, ok := breadth(cuts[k], c); ok && math.Abs(at) > ownReach {
			x, y = append(x, at), append(y, b)
		}
	}
	if len(x) < 8 || slices.Max(x)-slices.Min(x) < leastSpan {
		return 0, 0, false
	}
	b0, b1 := stat.LinearRegression(x, y, nil, false)
	return b0 + b1*slices.Min(x), b0 + b1*slices.Max(x), true
}

// topPart is the height, mm, below the highest point of a slice within which
// its breadth is taken, so that a slope of the arch along its length does not
// count.
const topPart = 2.5

// breadth returns how broad the upper part of a slice is.
func breadth(s []cell, c [2]float64) (float64, bool) {
	top := 0.0
	for _, p := range s {
		top = math.Max(top, p.top)
	}
	low, high, n := math.Inf(1), 0.0, 0
	for _, p := range s {
		if p.top > top-topPart {
			r := math.Hypot(p.x-c[0], p.y-c[1])
			low, high, n = math.Min(low, r), math.Max(high, r), n+1
		}
	}
	return high - low + archCell, n >= 3 && high-low < broadest
}
