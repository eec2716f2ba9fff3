package align

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

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

// beside is how many slices a side must show for its direction to be taken.
const beside = 3

// slopeAt returns the slope at the preparation of the curve through the middles
// of slices across the arch: y = b0 + b1 x + b2 x^2 where both sides show
// teeth; for a last tooth, y = b1 x + b2 x^2, since the curve runs through the
// preparation itself.
func slopeAt(pts []cell, ax, ay float64) (float64, bool) {
	rows := middles(pts, ax, ay)
	left := 0
	for _, r := range rows {
		if r[0] < 0 {
			left++
		}
	}
	right := len(rows) - left
	switch {
	case left >= beside && right >= beside:
		return parabola(rows, 3)
	case left >= 2*beside || right >= 2*beside:
		return parabola(rows, 2)
	}
	return 0, false
}

// parabola fits b0 + b1 x + b2 x^2, or with two terms b1 x + b2 x^2, and
// returns b1.
func parabola(rows [][2]float64, terms int) (float64, bool) {
	a, b := mat.NewDense(len(rows), terms, nil), mat.NewVecDense(len(rows), nil)
	for i, r := range rows {
		a.SetRow(i, []float64{r[0], r[0] * r[0], 1}[:terms])
		b.SetVec(i, r[1])
	}
	var x mat.VecDense
	if err := x.SolveVec(a, b); err != nil {
		return 0, false
	}
	return x.AtVec(0), true
}

// slice is the width of a slice across the arch, mm.
const slice = 1.0

// middles cuts the points within alongReach into slices square to the
// direction (ax, ay) and returns where along it and how far beside it the
// middle of each lies, the preparation's own left out.
func middles(pts []cell, ax, ay float64) [][2]float64 {
	n := int(2*alongReach/slice) + 1
	low, high, count := make([]float64, n), make([]float64, n), make([]int, n)
	for _, p := range pts {
		x, y := p.x*ax+p.y*ay, -p.x*ay+p.y*ax
		k := int(math.Floor((x + alongReach) / slice))
		if k < 0 || k >= n || math.Abs(y) > alongReach {
			continue
		}
		if count[k] == 0 {
			low[k], high[k] = y, y
		}
		low[k], high[k] = math.Min(low[k], y), math.Max(high[k], y)
		count[k]++
	}
	var rows [][2]float64
	for k := range n {
		x := (float64(k)+0.5)*slice - alongReach
		if count[k] >= 3 && math.Abs(x) >= ownReach {
			rows = append(rows, [2]float64{x, (low[k] + high[k]) / 2})
		}
	}
	return rows
}
