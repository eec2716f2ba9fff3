package phantom

import (
	"math"
	"math/rand/v2"
)

const degree = math.Pi / 180

// uniform draws from lo to hi.
func uniform(rng *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }

// around draws one value for each side.
func around(rng *rand.Rand, lo, hi float64) sides {
	return sides{uniform(rng, lo, hi), uniform(rng, lo, hi), uniform(rng, lo, hi), uniform(rng, lo, hi)}
}

// varied returns a person's own teeth: sizes within 4 % of the mean, cusps a
// little elsewhere, some worn.
func varied(plan [9]anatomy, rng *rand.Rand) [9]anatomy {
	all := uniform(rng, 0.97, 1.03)
	for i := range plan {
		a := &plan[i]
		a.md *= all * uniform(rng, 0.98, 1.02)
		a.bl *= all * uniform(rng, 0.98, 1.02)
		a.length *= all
		cusps := append([]cusp{}, a.cusps...)
		for k := range cusps {
			cusps[k].x += uniform(rng, -0.03, 0.03)
			cusps[k].y += uniform(rng, -0.03, 0.03)
			cusps[k].drop += uniform(rng, 0, 0.12)
		}
		a.cusps = cusps
	}
	return plan
}

// newPrep prepares the crown c: a plausible preparation that stays inside it.
func newPrep(c *crown, rng *rand.Rand) *prep {
	p := &prep{finish: around(rng, 0.5, 0.8), width: &band{base: around(rng, 0.75, 1.05)}}
	p.finish.m += uniform(rng, 0.6, 0.9)
	p.finish.d += uniform(rng, 0.6, 0.9)
	taper := around(rng, 4.5*degree, 8.5*degree)
	if c.md < 8.6 { // narrow teeth keep their core by steeper proximal walls
		taper.m, taper.d = 0.75*taper.m, 0.75*taper.d
		p.width.base.m, p.width.base.d = 0.85*p.width.base.m, 0.85*p.width.base.d
	}
	p.taper = fitSeries(taper.at, 12)
	p.round = &band{base: around(rng, 0.35, 0.55)}
	p.sulcus = around(rng, 0.6, 0.95)
	p.crest = around(rng, 0.15, 0.45)
	p.shoulder = rng.Float64() < 0.3
	p.fillet = uniform(rng, 1.02, 1.2)
	if p.shoulder {
		p.fillet = uniform(rng, 0.2, 0.35)
	}
	p.radius = fitSeries(func(a float64) float64 {
		sn, cs := math.Sincos(a)
		return c.outline(cs, sn, p.finish.at(a)) - 0.04
	}, 14)
	p.reduce(c, uniform(rng, 1.35, 1.6))
	return p
}

// reduce sets the occlusal surface: the crown's relief, lowered and calmed.
func (p *prep) reduce(c *crown, depth float64) {
	if c.front {
		p.thin(c, depth+0.3)
		return
	}
	p.corner = series{c: []float64{c.length - depth - 1}, s: []float64{0}}
	for range 6 {
		p.corner = fitSeries(func(a float64) float64 {
			x, y, _ := p.inside(a, 1)
			return math.Min(c.relief(x, y), c.length-0.2) - depth
		}, 5)
	}
	p.centre = c.relief(0, 0) - depth
	p.rise = fitSeries(func(a float64) float64 {
		x, y, r := p.inside(a, 0.45)
		g := math.Atan2(c.relief(x, y)-depth-p.corner.at(a), 0.55*r)
		return math.Max(-0.5, math.Min(0.1, 0.8*g))
	}, 5)
}

// thin gives a front tooth an incisal edge about 1.5 mm thick, an oval as wide
// as the proximal walls leave it, and leans the walls to meet it.
func (p *prep) thin(c *crown, depth float64) {
	wide := func(a float64) float64 {
		return p.radius.at(a) - p.width.at(a) - (c.length-depth-p.finish.at(a))*math.Tan(p.taper.at(a))
	}
	w, half := (wide(0)+wide(math.Pi))/2, 0.105*c.bl
	edge := func(a float64) float64 {
		sn, cs := math.Sincos(a)
		return math.Pow(math.Pow(math.Abs(cs/w), 2.4)+math.Pow(math.Abs(sn/half), 2.4), -1/2.4)
	}
	p.round = &band{base: even(0.3)}
	p.corner = fitSeries(func(a float64) float64 {
		sn, cs := math.Sincos(a)
		return c.relief(edge(a)*cs, edge(a)*sn) - depth
	}, 5)
	p.centre = c.relief(0, 0) - depth
	p.rise = series{c: []float64{0.05}, s: []float64{0}}
	p.taper = fitSeries(func(a float64) float64 {
		return math.Atan2(p.radius.at(a)-p.width.at(a)-edge(a), p.corner.at(a)-p.finish.at(a))
	}, 16)
}

// inside is the place at the share t of the way from the axis to the corner.
func (p *prep) inside(a, t float64) (x, y, r float64) {
	r = p.radius.at(a) - p.width.at(a) - (p.corner.at(a)-p.finish.at(a))*math.Tan(p.taper.at(a))
	sn, cs := math.Sincos(a)
	return t * r * cs, t * r * sn, r
}
