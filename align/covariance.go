package align

import (
	"math"
	"slices"

	"crownassay/geom"
)

// Quality says how well the points fit under a motion. Lengths mm.
type Quality struct {
	RMS       float64    // root mean square distance of the points that have weight, from the fixed surface
	Quantiles [4]float64 // of the absolute distances of all points with a partner: 50, 75, 90, 95 %
	Overlap   float64    // share of the smaller surface that lies within Near of the other
	Firm      float64    // of what lies within three times Near, the share within Near: 1/3 for surfaces that cross by chance
	Points    int        // with weight
	Effective float64    // as many independent points would tell as much
}

// shares are the quantiles in Quality.
var shares = [4]float64{0.5, 0.75, 0.9, 0.95}

// quality judges a matching; cover is the area of the moving surface over that
// of the smaller one.
func (m *matching) quality(scale, near, cover float64) Quality {
	var q Quality
	sum, sq := 0.0, 0.0
	for i, w := range m.w {
		if w > 0 && math.Abs(m.r[i]) < tukeyCut*scale {
			q.Points++
			sum, sq = sum+w, sq+float64(float64(w*m.r[i])*m.r[i])
		}
	}
	if sum > 0 {
		q.RMS = math.Sqrt(sq / sum)
	}
	r := m.paired()
	for i := range r {
		r[i] = math.Abs(r[i])
	}
	slices.Sort(r)
	for i, s := range shares {
		q.Quantiles[i] = quantile(r, s)
	}
	inner, outer := m.within(near), m.within(3*near)
	if outer > 0 {
		q.Overlap, q.Firm = min(1, cover*inner/m.pts.whole()), inner/outer
	}
	return q
}

// patchEdge is the edge of the squares, mm, over which residuals are looked at
// together: scan noise holds together over a few tenths of a millimetre. What
// holds together over more is a difference of shape, and is told by Quality.
const patchEdge = 1.0

// patchOf names the patch of a place: a square of the coordinate plane that
// the surface lies flattest to, on either of its sides. Where a patch ends must
// not depend on the height over the surface, which is the residual itself.
func patchOf(p, n geom.Vec) [3]int32 {
	c, d := [3]float64{p.X, p.Y, p.Z}, [3]float64{n.X, n.Y, n.Z}
	k := 0
	for i := range d {
		if math.Abs(d[i]) > math.Abs(d[k]) {
			k = i
		}
	}
	side := int32(2 * k)
	if d[k] < 0 {
		side++
	}
	return [3]int32{side, cubeOf(c[(k+1)%3], patchEdge), cubeOf(c[(k+2)%3], patchEdge)}
}

// spread returns the factor that turns the inverse of the mean normal matrix
// into a covariance of the motion, and fills in how many independent points
// would give the same: the variance of an M-estimator, sum (a psi)^2 / (sum a
// psi')^2 with weights a, times how much more the sums of a psi over patches
// scatter than those of independent points would.
// Source: P. J. Huber, Robust Statistics, 1981, section 7.6; the patches as
// clusters, K.-Y. Liang, S. L. Zeger, Biometrika 73 (1986) 13-22.
func (m *matching) spread(scale float64, q *Quality) float64 {
	at := map[[3]int32]int{}
	var patch []float64
	single, slope := 0.0, 0.0
	for i, a := range m.w {
		u := m.r[i] / (tukeyCut * scale)
		if a <= 0 || math.Abs(u) >= 1 {
			continue
		}
		psi := float64(a*m.r[i]) * tukey(u)
		slope += float64(a * float64((1-float64(u*u))*(1-float64(5*float64(u*u)))))
		single += float64(psi * psi)
		key := patchOf(m.moved[i], m.normal[i])
		k, ok := at[key]
		if !ok {
			k = len(patch)
			at[key], patch = k, append(patch, 0)
		}
		patch[k] += psi
	}
	if single <= 0 || slope <= 0 {
		q.Effective = float64(q.Points)
		return 0
	}
	joint := 0.0
	for _, x := range patch {
		joint += float64(x * x)
	}
	f := max(single, joint) / float64(slope*slope)
	q.Effective = float64(q.RMS*q.RMS) / f
	return f
}

// covariance returns that of the motion about v, within the basis.
func (m *matching) covariance(v pivot, basis []vec6, scale float64, q *Quality) [6][6]float64 {
	var out [6][6]float64
	f := m.spread(scale, q)
	e := m.equations(v, m.normal, &vec6{}, func(r float64) float64 { return tukey(r / (tukeyCut * scale)) })
	inv, ok := e.inverse(basis)
	for i := range inv {
		for k := range inv[i] {
			out[i][k] = math.NaN()
			if ok {
				out[i][k] = inv[i][k] * e.w * f
			}
		}
	}
	return out
}
