package align

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"crownassay/geom"
	"crownassay/mesh"
)

// Arch is what the teeth around a preparation tell of directions.
type Arch struct {
	Lingual geom.Vec // unit, square to the axis, toward the inner side of the arch
	Along   geom.Vec // unit, along the arch at the preparation, either way
	Sagitta float64  // mm: how far the teeth's curve departs from straight
	Known   bool     // the curve is plain enough to tell the inner side
	Why     string   // why not

	Front      geom.Vec // unit, along the arch toward its front, where FrontKnown
	FrontKnown bool     // the teeth themselves tell, plainly, which way the front of the arch is
	Only       geom.Vec // unit, along the arch, when teeth were scanned on that side only; else zero
}

// How the arch is read. Lengths mm.
const (
	archCell     = 0.75 // grid in plan over which teeth are counted
	aboveGingiva = 1.5  // height above the finish line that only teeth reach
	leastSagitta = 1.6  // flatter curves are within what tooth widths make
	leastSpan    = 18.0 // teeth over a shorter span tell nothing
	frontReach   = 24.0 // how far to either side tooth breadths are compared
	broadest     = 13.0 // a broader slice runs along teeth, not across one
	wideArch     = 200. // degrees of the curve from which both ends of an arch are in the scan
	longerSide   = 1.25 // the front lies on the side with this much more arch
	narrowing    = 0.25 // relative change of breadth over the scan that tells the front plainly
	alongReach   = 17.0 // how far to either side the direction along the arch is taken
	ownReach     = 6.0  // the preparation's own radius in plan, at most
)

// FindArch looks at the teeth of a scan around a frame whose Z is the
// placement axis and whose origin is at the finish line.
func FindArch(m *mesh.Mesh, f Frame) Arch {
	pts := crowns(m, f)
	if len(pts) < 40 {
		return Arch{Why: "too little of the neighbouring teeth was scanned"}
	}
	c, rho, ok := circle(pts)
	if !ok {
		return Arch{Why: "the teeth stand in a straight row"}
	}
	d := math.Hypot(c[0], c[1])
	if d < 1e-9 {
		return Arch{Why: "the teeth do not show a curve"}
	}
	span, sagitta := extent(pts, c, rho)
	in := f.X.Mul(c[0] / d).Add(f.Y.Mul(c[1] / d))
	a := Arch{Sagitta: sagitta, Lingual: in, Along: in.Cross(f.Z)}
	a.turnAlong(pts, f)
	a.findFront(pts, f, c, rho)
	switch {
	case span < leastSpan:
		a.Why = "too little of the arch was scanned to see its curve"
	case sagitta < leastSagitta:
		a.Why = "the teeth stand nearly in a straight row"
	default:
		a.Known = true
	}
	return a
}

// cell is the middle of a cell in plan and the height of the highest vertex
// in it.
type cell struct{ x, y, top float64 }

// crowns returns, in plan, the cells in which something stands higher than
// aboveGingiva over the finish line.
func crowns(m *mesh.Mesh, f Frame) []cell {
	type index struct{ i, j int }
	seen := map[index]int{}
	var out []cell
	for _, v := range m.V {
		q := f.Local(v)
		if q.Z < aboveGingiva {
			continue
		}
		c := index{int(math.Floor(q.X / archCell)), int(math.Floor(q.Y / archCell))}
		k, ok := seen[c]
		if !ok {
			k = len(out)
			seen[c] = k
			out = append(out, cell{(float64(c.i) + 0.5) * archCell, (float64(c.j) + 0.5) * archCell, q.Z})
		}
		out[k].top = math.Max(out[k].top, q.Z)
	}
	return out
}

// circle fits a circle to points in plan by least squares on
// x^2 + y^2 + d x + e y + g = 0 (I. Kasa, IEEE Trans. Instrum. Meas. 25, 1976,
// 8-14). Its pull toward small circles does not matter for the side.
func circle(pts []cell) (c [2]float64, rho float64, ok bool) {
	n := len(pts)
	a, b := mat.NewDense(n, 3, nil), mat.NewVecDense(n, nil)
	for i, p := range pts {
		a.SetRow(i, []float64{p.x, p.y, 1})
		b.SetVec(i, -(p.x*p.x + p.y*p.y))
	}
	var x mat.VecDense
	if err := x.SolveVec(a, b); err != nil {
		return c, 0, false
	}
	c = [2]float64{-x.AtVec(0) / 2, -x.AtVec(1) / 2}
	rho = math.Sqrt(math.Max(0, c[0]*c[0]+c[1]*c[1]-x.AtVec(2)))
	return c, rho, rho > 0
}

// extent returns the length of arc that the points cover and its sagitta.
func extent(pts []cell, c [2]float64, rho float64) (span, sagitta float64) {
	mid := math.Atan2(-c[1], -c[0])
	lo, hi := 0.0, 0.0
	for _, p := range pts {
		d := math.Remainder(math.Atan2(p.y-c[1], p.x-c[0])-mid, 2*math.Pi)
		lo, hi = math.Min(lo, d), math.Max(hi, d)
	}
	half := math.Min((hi-lo)/2, math.Pi/2)
	return rho * (hi - lo), rho * (1 - math.Cos(half))
}

// turnAlong sets Along from the teeth beside the preparation: a parabola
// through the middles of thin slices across the arch, taken twice. Lingual is
// turned square to it.
func (a *Arch) turnAlong(pts []cell, f Frame) {
	for range 3 {
		ax, ay := a.Along.Dot(f.X), a.Along.Dot(f.Y)
		slope, ok := slopeAt(pts, ax, ay)
		if !ok || math.Abs(slope) < 1e-4 {
			return
		}
		across := f.Y.Mul(ax).Sub(f.X.Mul(ay))
		next := a.Along.Add(across.Mul(slope)).Unit()
		in := a.Lingual.Reject(next).Unit()
		a.Along, a.Lingual = next, in
	}
}

// slopeAt fits y = b0 + b1 x + b2 x^2 to the slices' middles and returns b1.
func slopeAt(pts []cell, ax, ay float64) (float64, bool) {
	const slice = 1.0
	n := int(2*alongReach/slice) + 1
	low, high, count := make([]float64, n), make([]float64, n), make([]int, n)
	for _, p := range pts {
		x, y := p.x*ax+p.y*ay, -p.x*ay+p.y*ax
		k := int(math.Floor((x + alongReach) / slice))
		if k < 0 || k >= n || math.Abs(y) > alongReach {
			continue
		}
		if count[k] == 0 || y < low[k] {
			low[k] = y
		}
		if count[k] == 0 || y > high[k] {
			high[k] = y
		}
		count[k]++
	}
	var rows [][2]float64
	left, right := 0, 0
	for k := range n {
		x := (float64(k)+0.5)*slice - alongReach
		if count[k] < 3 || math.Abs(x) < ownReach {
			continue
		}
		rows = append(rows, [2]float64{x, (low[k] + high[k]) / 2})
		if x < 0 {
			left++
		} else {
			right++
		}
	}
	if left < 3 || right < 3 {
		return 0, false
	}
	a, b := mat.NewDense(len(rows), 3, nil), mat.NewVecDense(len(rows), nil)
	for i, r := range rows {
		a.SetRow(i, []float64{1, r[0], r[0] * r[0]})
		b.SetVec(i, r[1])
	}
	var x mat.VecDense
	if err := x.SolveVec(a, b); err != nil {
		return 0, false
	}
	return x.AtVec(1), true
}

// findFront tells the front of the arch from the teeth: where most of an arch
// was scanned it lies on the longer side; else teeth grow narrower from cheek
// to tongue toward the front (mean breadths of Ash and Nelson: lower molars
// 10.0 to 10.5 mm, premolars 7.5 to 8.0, canine 7.5, incisors 6.0 to 6.5; from
// memory).
func (a *Arch) findFront(pts []cell, f Frame, c [2]float64, rho float64) {
	d := math.Hypot(c[0], c[1])
	turn := f.X.Mul(c[1] / d).Add(f.Y.Mul(-c[0] / d)) // where angles about c grow at the preparation
	lo, hi := sides(pts, c)
	if rho*hi < ownReach || -rho*lo < ownReach {
		a.Only = a.along(turn.Mul(lo + hi))
		return
	}
	forward := 0.0
	if (hi-lo)*180/math.Pi > wideArch {
		if hi > -lo*longerSide {
			forward = 1
		} else if -lo > hi*longerSide {
			forward = -1
		}
	} else if start, end, ok := breadths(pts, c, rho); ok && math.Abs(end-start) > narrowing*(start+end)/2 {
		forward = math.Copysign(1, start-end)
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

// sides returns how far the points reach to either side of the origin,
// radians about c.
func sides(pts []cell, c [2]float64) (lo, hi float64) {
	mid := math.Atan2(-c[1], -c[0])
	for _, p := range pts {
		d := math.Remainder(math.Atan2(p.y-c[1], p.x-c[0])-mid, 2*math.Pi)
		lo, hi = math.Min(lo, d), math.Max(hi, d)
	}
	return lo, hi
}

// breadths compares how broad the teeth are, square to the arch's circle, on
// either side of the origin: a straight line through the breadths of slices
// outside the preparation, read at the two ends of the scan.
func breadths(pts []cell, c [2]float64, rho float64) (start, end float64, ok bool) {
	const slice = 1.0
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
