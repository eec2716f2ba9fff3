package phantom

import (
	"context"
	"math"

	"crownassay/geom"
	"crownassay/internal/par"
)

// The samples of a sheet for the search of nearest points.
const (
	surfaceTurns = 360
	surfaceSteps = 140
)

// sampled spreads probes over a sheet, in its frame, with their parameters;
// near is the place in the list.
func sampled(ctx context.Context, s sheet, turns, steps int) ([]probe, []param, error) {
	n := turns * steps
	out, at := make([]probe, n), make([]param, n)
	da, dq := 2*math.Pi/float64(turns), s.span()/float64(steps)
	err := par.Do(ctx, n, 256, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			w := param{da * (float64(i/steps) + 0.5), dq * (float64(i%steps) + 0.5)}
			x := s.point(w.a+da/2, w.q).Sub(s.point(w.a-da/2, w.q))
			y := s.point(w.a, w.q+dq/2).Sub(s.point(w.a, w.q-dq/2))
			out[i] = probe{p: s.point(w.a, w.q), area: x.Cross(y).Norm(), near: int32(i)}
			at[i] = w
		}
	})
	return out, at, err
}

// The zones of an outer surface that the thickness is taken over.
const (
	zoneChewing = iota // above the line angle
	zoneAxial          // from marginBand above the crown margin to the line angle
	zonesOuter
)

// between is the value of the sections at the azimuth of p, linear between the
// two beside it.
func (c *contour) between(p geom.Vec, v func(k *contourCut) float64) float64 {
	d := p.Sub(c.s.origin)
	x := math.Atan2(d.Dot(c.s.b), d.Dot(c.s.m)) / degree
	x -= 360 * math.Floor(x/360)
	i := int(x) % 360
	u := x - math.Floor(x)
	return (1-u)*v(&c.sections[i]) + u*v(&c.sections[(i+1)%360])
}

// borderAt is the share of the way where the formula's profile of azimuth a
// crosses a border that the sections know.
func (c *contour) borderAt(a float64, v func(k *contourCut) float64) float64 {
	s := v(&c.sections[int(math.Round(turn(a)/degree)+360)%360])
	for range 4 {
		s = c.between(c.out.at(a, s), v)
	}
	return s
}

// The probes of a zone: on so many profiles, denser towards the zone's borders,
// where the thinnest strip often lies.
const (
	zoneTurns = 300
	zoneSteps = 140
)

// zoned spreads probes over both zones. The profile walked up from the margin
// is occlusal from where it first reaches the height of the line angle, also
// where a fossa dips below it again.
func (c *contour) zoned(ctx context.Context) ([]probe, error) {
	out := make([]probe, zonesOuter*zoneTurns*zoneSteps)
	const da = 2 * math.Pi / zoneTurns
	err := par.Do(ctx, zoneTurns, 4, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			a := da * (float64(i) + 0.5)
			top := c.borderAt(a, func(k *contourCut) float64 { return k.shareTop })
			low := c.borderAt(a, func(k *contourCut) float64 { return k.shareHalf })
			c.strip(out[i*zoneSteps:], a, da, 0, top, zoneChewing)
			c.strip(out[(zoneTurns+i)*zoneSteps:], a, da, top, low, zoneAxial)
		}
	})
	return out, err
}

// strip fills one profile's probes from one share of the way to another.
func (c *contour) strip(out []probe, a, da, from, to float64, zone int) {
	share := func(k float64) float64 { return from + (to-from)*(1-math.Cos(math.Pi*k/zoneSteps))/2 }
	for k := range zoneSteps {
		lo, hi := share(float64(k)), share(float64(k)+1)
		s := (lo + hi) / 2
		x := c.out.at(a+da/2, s).Sub(c.out.at(a-da/2, s))
		y := c.out.at(a, hi).Sub(c.out.at(a, lo))
		out[k] = probe{p: c.out.at(a, s), area: x.Cross(y).Norm(), zone: zone}
	}
}

// thickness fills the two robust minima of the distance to the cavity and what
// block the outer surface needs.
func (f *findings) thickness(ctx context.Context, cavity *cloud, out *CrownTruth) error {
	probes, err := f.zoned(ctx)
	if err != nil {
		return err
	}
	out.Blank = f.extents(probes)
	if err := cavity.measure(ctx, probes, zonesOuter); err != nil {
		return err
	}
	for zone, id := range []string{"thickness.occlusal", "thickness.axial"} {
		v, p := robustMin(probes, func(k int) bool { return k == zone })
		f.put(id, v, p)
	}
	return nil
}

// measure fills the distances of the probes and sorts them.
func (c *cloud) measure(ctx context.Context, probes []probe, zones int) error {
	return settle(ctx, probes, zones, 5, c.coarse, func(p geom.Vec, from int32) float64 {
		_, d := c.fine(p, from)
		return d
	})
}

// BlankTruth is the room a crown takes: its extent along the placement axis
// and, for every degree of half a turn about it from mesial on, across.
type BlankTruth struct {
	Height float64   `json:"height"`
	Across []float64 `json:"across"`
}

// extents spans the outer surface with its margin edge.
func (f *findings) extents(probes []probe) *BlankTruth {
	span := func(d geom.Vec) float64 {
		lo, hi := math.Inf(1), math.Inf(-1)
		put := func(p geom.Vec) { lo, hi = math.Min(lo, p.Dot(d)), math.Max(hi, p.Dot(d)) }
		for i := range probes {
			put(probes[i].p)
		}
		for i := range loopSteps {
			a := 2 * math.Pi * float64(i) / loopSteps
			put(spin(a, f.out.margin(a)))
		}
		return hi - lo
	}
	b := &BlankTruth{Height: span(f.s.axis)}
	for i := range 180 {
		sn, cs := math.Sincos(float64(i) * degree)
		b.Across = append(b.Across, span(f.s.m.Mul(cs).Add(f.s.b.Mul(sn))))
	}
	return b
}
