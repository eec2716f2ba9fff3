package phantom

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"crownassay/geom"
)

// wave is an error field: three sines in directions square to one another.
type wave struct {
	amount float64 // root mean square, mm
	k      [3]geom.Vec
	phase  [3]float64
}

func newWave(m *Made, rng *rand.Rand) *wave {
	w := &wave{amount: m.Error}
	turn := geom.RotationAbout(geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()).Unit(), 2*math.Pi*rng.Float64())
	for i, d := range []geom.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
		w.k[i] = turn.Apply(d).Mul(2 * math.Pi / m.Wave)
		w.phase[i] = 2 * math.Pi * rng.Float64()
	}
	return w
}

// at is the error at p; the sum of three sines has a mean square of 3/2.
func (w *wave) at(p geom.Vec) float64 {
	s := 0.0
	for i := range w.k {
		s += math.Sin(w.k[i].Dot(p) + w.phase[i])
	}
	return w.amount * s / math.Sqrt(1.5)
}

// milled is the copy of a crown with an error field on both surfaces that
// fades out towards the margin edge.
func (r *restoration) milled(w *wave) *restoration {
	c, in, out := *r, *r.in, *r.out
	in.error, out.error = w, w
	c.in, c.out = &in, &out
	return &c
}

// DeviationTruth is the deviation of a milled copy before it is registered;
// the readings hold what is left after the best rigid motion.
type DeviationTruth struct {
	RMS  float64 `json:"rms"`
	Mean float64 `json:"mean"`
	Most float64 `json:"most"`
}

// deviates is one sample of the deviation: place, unit normal, distance along
// it and area.
type deviates struct {
	p, n    geom.Vec
	d, area float64
}

// deviation fills the deviation of a milled copy from its design. A step along
// the ray, or across the half plane, counts along the normal; what that leaves
// out is below a thousandth of the step.
func (r *restoration) deviation(ctx context.Context, design *restoration, t *Truth) (*DeviationTruth, error) {
	var all []deviates
	for _, s := range [][2]sheet{{design.out, r.out}, {design.in, r.in}} {
		_, at, err := sampled(ctx, s[0], cavityTurns, cavitySteps)
		if err != nil {
			return nil, err
		}
		for _, w := range at {
			all = append(all, deviate(s[0], s[1], w))
		}
	}
	raw := &DeviationTruth{RMS: rms(all)}
	sum, area := 0.0, 0.0
	for _, v := range all {
		sum, area = sum+v.d*v.area, area+v.area
		raw.Most = math.Max(raw.Most, math.Abs(v.d))
	}
	raw.Mean = sum / area
	settled(all)
	t.Readings["finished.deviation.rms"] = rms(all)
	t.Readings["finished.deviation.p95"] = share(all, 0.95)
	return raw, nil
}

func deviate(from, to sheet, w param) deviates {
	const e = 1e-4
	p := from.point(w.a, w.q)
	x := from.point(w.a+e, w.q).Sub(from.point(w.a-e, w.q)).Mul(0.5 / e)
	y := from.point(w.a, w.q+e).Sub(from.point(w.a, w.q-e)).Mul(0.5 / e)
	n := y.Cross(x)
	return deviates{p, n.Unit(), to.point(w.a, w.q).Sub(p).Dot(n.Unit()), n.Norm()}
}

func rms(all []deviates) float64 {
	sum, area := 0.0, 0.0
	for _, v := range all {
		sum, area = sum+v.d*v.d*v.area, area+v.area
	}
	return math.Sqrt(sum / area)
}

// share is the size of the deviation that the given share of the area stays
// below.
func share(all []deviates, part float64) float64 {
	order := slices.Clone(all)
	slices.SortStableFunc(order, func(a, b deviates) int { return compare(math.Abs(a.d), math.Abs(b.d)) })
	area := 0.0
	for _, v := range order {
		area += v.area
	}
	sum := 0.0
	for _, v := range order {
		if sum += v.area; sum >= part*area {
			return math.Abs(v.d)
		}
	}
	return math.NaN()
}
