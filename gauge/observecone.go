package gauge

import (
	"context"
	"fmt"
	"math"
	"slices"

	"crownassay/fit"
	"crownassay/geom"
)

func observeCone(ctx context.Context, b *Body, s *scan) (o observed, err error) {
	half := b.Angle.Deg * math.Pi / 360
	start, votes := s.findCone(half, b.Diameter.MM/2)
	if err := s.absentUnless(votes, fmt.Sprintf("cone of %.2f degrees near a diameter of %.3f mm", b.Angle.Deg, b.Diameter.MM)); err != nil {
		return o, err
	}
	c, q, pts, err := settled(ctx, s, start, findTol(b.Diameter.MM/2), func(p []geom.Vec, at fit.Cone) (fit.Cone, fit.Quality, error) {
		return fit.FitCone(p, &at, fitOptions)
	})
	if err != nil {
		return o, err
	}
	if err := turnEnough("cone", pts, c.At, c.Axis); err != nil {
		return o, err
	}
	end, endQ, err := s.endPlane(ctx, c, b.From)
	if err != nil {
		return o, err
	}
	// from the top downward the cone widens, which is along its axis
	foot := end.At.Sub(c.At).Dot(end.Normal) / c.Axis.Dot(end.Normal)
	at := foot + b.Height
	if b.From == "base" {
		at = foot - b.Height
	}
	d := 2 * c.RadiusAt(at)
	if err := sized("cone's diameter at that height", d, b.Diameter.MM); err != nil {
		return o, err
	}
	o.points = q.Points
	o.noise, o.form = spread(kept(q.Feet, q.Distances, q.RMS))
	u := math.Hypot(coneSpread(c, &q, at), 2*math.Tan(c.Half)*endQ.Standard(0))
	angle := c.Half * 360 / math.Pi
	o.indications = []indication{
		{"angle", "deg", angle, q.Standard(5) * 360 / math.Pi, b.Angle.Deg, b.Angle.Uncertainty / 2, 0},
		{"diameter", "mm", d, u, b.Diameter.MM, b.Diameter.standard(), b.Diameter.MM},
	}
	return o, nil
}

// coneSpread is the standard uncertainty of a cone's diameter at a height along
// its axis: twice that of R + s tan(half).
func coneSpread(c fit.Cone, q *fit.Quality, at float64) float64 {
	cos := math.Cos(c.Half)
	k := at / (cos * cos)
	v := 0.0
	for _, m := range []interface{ At(i, j int) float64 }{q.Covariance, q.Clustered} {
		v = math.Max(v, m.At(4, 4)+2*k*m.At(4, 5)+k*k*m.At(5, 5))
	}
	return 2 * math.Sqrt(v)
}

const (
	// squareTo is the largest angle, degrees, between an end plane's normal and
	// the cone's axis.
	squareTo = 8.0
	// planeTol is the distance, mm, within which places make one plane.
	planeTol = 0.1
	// planeLeast is the least share of the places that an end plane must have.
	planeLeast = 0.005
)

// endPlane finds the plane square to the cone's axis at its narrow end (top) or
// the one that it stands on (base). Both face the narrow way.
func (s *scan) endPlane(ctx context.Context, c fit.Cone, from string) (fit.Plane, fit.Quality, error) {
	up := c.Axis.Neg()
	cos := math.Cos(squareTo * math.Pi / 180)
	var h []float64
	for _, q := range s.some {
		if q.n.Dot(up) > cos {
			h = append(h, q.p.Sub(c.At).Dot(up))
		}
	}
	slices.Sort(h)
	if from == "top" { // look from the narrow end down, else from the wide end up
		slices.Reverse(h)
	}
	least := max(5, int(planeLeast*float64(len(s.some))))
	for i := range h {
		if j := i + least; j < len(h) && math.Abs(h[i]-h[j]) < planeTol {
			start := fit.Plane{At: c.At.Add(up.Mul((h[i] + h[j]) / 2)), Normal: up}
			pl, q, _, err := settled(ctx, s, start, planeTol, func(p []geom.Vec, at fit.Plane) (fit.Plane, fit.Quality, error) {
				return fit.FitPlane(p, &at, fitOptions)
			})
			return pl, q, err
		}
	}
	return fit.Plane{}, fit.Quality{}, fmt.Errorf("the %s plane of the cone, from which its height is counted, is not seen; scan it too", from)
}
