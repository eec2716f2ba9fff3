package phantom

import (
	"math"

	"crownassay/geom"
)

// settled takes the best small rigid motion out of the deviations, by least
// squares over the area: d = n . t + (p x n) . w.
func settled(all []deviates) {
	var mid geom.Vec
	area := 0.0
	for _, v := range all {
		mid, area = mid.Add(v.p.Mul(v.area)), area+v.area
	}
	mid = mid.Mul(1 / area)
	var m [6][7]float64
	row := func(v deviates) [6]float64 {
		c := v.p.Sub(mid).Cross(v.n)
		return [6]float64{v.n.X, v.n.Y, v.n.Z, c.X, c.Y, c.Z}
	}
	for _, v := range all {
		g := row(v)
		for i := range 6 {
			for j := range 6 {
				m[i][j] += v.area * g[i] * g[j]
			}
			m[i][6] += v.area * g[i] * v.d
		}
	}
	x := eliminate(m)
	for k := range all {
		g := row(all[k])
		for i := range 6 {
			all[k].d -= g[i] * x[i]
		}
	}
}

// eliminate solves six equations by Gauss with the largest pivot.
func eliminate(m [6][7]float64) (x [6]float64) {
	for i := range 6 {
		p := i
		for j := i; j < 6; j++ {
			if math.Abs(m[j][i]) > math.Abs(m[p][i]) {
				p = j
			}
		}
		m[i], m[p] = m[p], m[i]
		for j := i + 1; j < 6; j++ {
			f := m[j][i] / m[i][i]
			for k := i; k < 7; k++ {
				m[j][k] -= f * m[i][k]
			}
		}
	}
	for i := 5; i >= 0; i-- {
		x[i] = m[i][6]
		for k := i + 1; k < 6; k++ {
			x[i] -= m[i][k] * x[k]
		}
		x[i] /= m[i][i]
	}
	return x
}
