package align

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"crownassay/geom"
)

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

// extent returns the length of arc that the points cover and its sagitta. The
// length is no more than the points reach along a straight line: the circle
// through a single tooth's points is as small as the tooth.
func extent(pts []cell, c [2]float64, rho float64) (span, sagitta float64) {
	lo, hi := sides(pts, c)
	half := math.Min((hi-lo)/2, math.Pi/2)
	return math.Min(rho*(hi-lo), reach(pts)), rho * (1 - math.Cos(half))
}

// reach is the diagonal of the points' box in plan.
func reach(pts []cell) float64 {
	b := geom.EmptyBox()
	for _, p := range pts {
		b = b.Include(geom.V(p.x, p.y, 0))
	}
	return b.Diagonal()
}

// sides returns how far the points reach to either side of the origin,
// radians about c. A whole arch reaches more than half around: its open end,
// the widest angle without points, is what parts the two sides.
func sides(pts []cell, c [2]float64) (lo, hi float64) {
	mid := math.Atan2(-c[1], -c[0])
	d := make([]float64, len(pts), len(pts)+1)
	for i, p := range pts {
		d[i] = math.Remainder(math.Atan2(p.y-c[1], p.x-c[0])-mid, 2*math.Pi)
	}
	slices.Sort(d)
	lo, hi = d[0], d[len(d)-1]
	widest := lo + 2*math.Pi - hi
	for i := 1; i < len(d); i++ {
		if gap := d[i] - d[i-1]; gap > widest {
			widest = gap
			lo, hi = d[i], d[i-1]+2*math.Pi
			if d[i-1] > 0 { // the origin lies before the gap
				lo, hi = d[i]-2*math.Pi, d[i-1]
			}
		}
	}
	return math.Min(lo, 0), math.Max(hi, 0)
}
