package phantom

import (
	"fmt"
	"math"

	"crownassay/geom"
)

// gradStep is the step of the level's differences, mm.
const gradStep = 1e-4

// about estimates the signed distance from p (arch) to the teeth: the level
// over its slope. Near the surface its error goes with the distance squared.
func (t *target) about(p geom.Vec) float64 {
	best := math.Inf(1)
	for _, th := range t.teeth {
		n := th.sheet.(*natural)
		q := th.frame.toTooth(p)
		if !th.crown.couldHold(q) {
			continue
		}
		v := n.level(q)
		if v > 1 {
			best = math.Min(best, v)
			continue
		}
		g := geom.Vec{
			X: n.level(q.Add(geom.Vec{X: gradStep})) - n.level(q.Sub(geom.Vec{X: gradStep})),
			Y: n.level(q.Add(geom.Vec{Y: gradStep})) - n.level(q.Sub(geom.Vec{Y: gradStep})),
			Z: n.level(q.Add(geom.Vec{Z: gradStep})) - n.level(q.Sub(geom.Vec{Z: gradStep})),
		}
		best = math.Min(best, v*2*gradStep/math.Max(g.Norm(), 0.2*gradStep))
	}
	return best
}

// signed is the signed distance from p (arch) to the teeth's crowns.
func (t *target) signed(p geom.Vec) float64 {
	i, _ := t.coarse(p)
	_, d := t.fine(p, i)
	for _, th := range t.teeth {
		if th.sheet.(*natural).level(th.frame.toTooth(p)) < 0 {
			return -d
		}
	}
	return d
}

// window is a part of the outer surface: azimuths about a middle and shares of
// the way from the pole.
type window struct{ azimuth, half, from, to float64 }

// The windows in which the closest places are looked for.
var (
	proximalWindow = window{half: 50 * degree, from: 0.3, to: 0.97}
	occlusalWindow = window{half: math.Pi, from: 0.01, to: 0.75}
)

// least finds the place of the outer surface with the smallest signed distance
// to the teeth: the best of a grid, then parabolas on ever smaller stencils.
func (o *cameo) least(t *target, f *frame, w window) (param, float64) {
	const turns, steps = 64, 56
	best, at := math.Inf(1), param{}
	for i := range turns {
		a := w.azimuth + w.half*(2*(float64(i)+0.5)/turns-1)
		for k := range steps {
			s := w.from + (w.to-w.from)*(float64(k)+0.5)/steps
			if d := t.about(f.toArch(o.at(a, s))); d < best {
				best, at = d, param{a, s}
			}
		}
	}
	at = o.settle(at, func(a, s float64) float64 { return t.about(f.toArch(o.at(a, s))) })
	return at, t.signed(f.toArch(o.at(at.a, at.q)))
}

// settle walks to the lowest place of v near at.
func (o *cameo) settle(at param, v func(a, s float64) float64) param {
	best := v(at.a, at.q)
	for h := 0.1; h > 2e-4; {
		da, ds := h/4, h/o.runs
		na, ns := parabolaStep(func(i, j float64) float64 { return v(at.a+i*da, math.Max(0, at.q+j*ds)) })
		a, s := at.a+na*da, math.Max(0, at.q+ns*ds)
		if d := v(a, s); d < best {
			best, at = d, param{a, s}
			if na*na+ns*ns > 0.25 {
				continue
			}
		}
		h /= 3
	}
	return at
}

// meet finds the neighbours and brings the contacts to the wanted distances.
func (r *restoration) meet() error {
	m := r.model
	for _, n := range m.prepared.teeth {
		switch {
		case n.slot.next() == m.target.slot:
			r.sides[0] = newTarget([]*tooth{n})
		case m.target.slot.next() == n.slot:
			r.sides[1] = newTarget([]*tooth{n})
		}
	}
	for i, want := range []*Touch{r.spec.Mesial, r.spec.Distal} {
		if r.sides[i] == nil {
			continue
		}
		w := proximalWindow
		w.azimuth = math.Pi * float64(i)
		if err := r.touch(r.sides[i], w, want); err != nil {
			return fmt.Errorf("invent crown: %s contact: %w", []string{"mesial", "distal"}[i], err)
		}
	}
	r.bite = newTarget(m.opposing.within(m.target.frame.o, 13))
	if r.spec.Bite == nil {
		return nil
	}
	if err := r.touch(r.bite, occlusalWindow, r.spec.Bite); err != nil {
		return fmt.Errorf("invent crown: occlusal contact: %w", err)
	}
	return nil
}

// contactResidue is how near a contact must come to the wanted distance, mm.
const contactResidue = 1e-5

// touch raises a hill over the closest place and solves for its rise.
func (r *restoration) touch(t *target, w window, want *Touch) error {
	f := &r.model.target.frame
	at, d := r.out.least(t, f, w)
	p := r.out.at(at.a, at.q).Sub(geom.Vec{Z: r.out.nat.centre})
	r.out.mounds = append(r.out.mounds, mound{p.Unit(), want.Half / p.Norm(), 0})
	m := &r.out.mounds[len(r.out.mounds)-1]
	r0, d0 := 0.0, d
	m.rise = d - want.Distance
	for range 30 {
		_, d = r.out.least(t, f, w)
		if math.Abs(d-want.Distance) < contactResidue {
			return nil
		}
		slope := (d - d0) / (m.rise - r0)
		if !(slope < -0.05) {
			slope = -1
		}
		r0, d0 = m.rise, d
		m.rise += math.Max(-0.5, math.Min(0.5, (want.Distance-d)/slope))
	}
	return fmt.Errorf("no hill of half width %g mm gives %g mm; it stays at %g", want.Half, want.Distance, d)
}
