package phantom

import (
	"context"
	"fmt"
	"math"
	"slices"

	"crownassay/geom"
	"crownassay/internal/par"
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

// keep brings a place into the window.
func (w window) keep(a, s float64) (float64, float64) {
	if d := a - w.azimuth; math.Abs(d) > w.half && w.half < math.Pi {
		a = w.azimuth + math.Copysign(w.half, d)
	}
	return a, math.Min(w.to, math.Max(w.from, s))
}

// The windows in which the closest places are looked for.
var (
	proximalWindow = window{half: 50 * degree, from: 0.3, to: 0.97}
	underWindow    = window{half: 18 * degree, from: 0.86, to: 0.94}
	occlusalWindow = window{half: math.Pi, from: 0.01, to: 0.75}
)

// The grid that the closest places are looked for on, and how many of its
// lowest places are followed, those within followBand of the lowest, mm.
const (
	leastTurns = 96
	leastSteps = 56
	followMost = 6
	followBand = 0.04
)

// least finds the place of the outer surface with the smallest signed distance
// to the teeth: from the low places of a grid by parabolas on ever smaller
// stencils.
func (o *cameo) least(t *target, f *frame, w window) (param, float64) {
	about := func(a, s float64) float64 { return t.about(f.toArch(o.at(w.keep(a, s)))) }
	best, at := math.Inf(1), param{}
	for _, from := range o.lowPlaces(about, w) {
		p := o.settle(from, about)
		if d := about(p.a, p.q); d < best {
			best, at = d, p
		}
	}
	at.a, at.q = w.keep(at.a, at.q)
	return at, t.signed(f.toArch(o.at(at.a, at.q)))
}

// lowPlaces lists the places of a grid that lie lower than the four beside
// them, the lowest first.
func (o *cameo) lowPlaces(about func(a, s float64) float64, w window) []param {
	at := func(k int) param {
		return param{w.azimuth + w.half*(2*(float64(k/leastSteps)+0.5)/leastTurns-1), w.from + (w.to-w.from)*(float64(k%leastSteps)+0.5)/leastSteps}
	}
	d := make([]float64, leastTurns*leastSteps)
	par.Do(context.Background(), leastTurns, 4, func(lo, hi int) {
		for k := lo * leastSteps; k < hi*leastSteps; k++ {
			p := at(k)
			d[k] = about(p.a, p.q)
		}
	})
	low := slices.Min(d)
	var list []int
	for k := range d {
		if d[k] <= low+followBand && lowest4(d, k) {
			list = append(list, k)
		}
	}
	slices.SortStableFunc(list, func(a, b int) int { return compare(d[a], d[b]) })
	var out []param
	for _, k := range list[:min(len(list), followMost)] {
		out = append(out, at(k))
	}
	return out
}

// lowest4 reports whether none of the places beside k lies lower.
func lowest4(d []float64, k int) bool {
	t, s := k/leastSteps, k%leastSteps
	beside := func(t, s int) float64 {
		if s < 0 || s >= leastSteps {
			return math.Inf(1)
		}
		return d[(t+leastTurns)%leastTurns*leastSteps+s]
	}
	return d[k] <= min(beside(t-1, s), beside(t+1, s), beside(t, s-1), beside(t, s+1))
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

// meet finds the teeth beside and opposite and adjusts the contacts.
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
	r.bite = newTarget(m.opposing.within(m.target.frame.o, 13))
	return r.adjust()
}

// adjustRounds is how often the plain contacts are gone through, because a hill
// for one may reach into another.
const adjustRounds = 5

// adjust brings the contacts to the wanted distances, the local ones last.
func (r *restoration) adjust() error {
	var plain, local []*hillock
	w := proximalWindow
	for i, want := range []*Touch{r.spec.Mesial, r.spec.Distal} {
		w.azimuth = math.Pi * float64(i)
		if r.sides[i] != nil {
			plain = append(plain, r.over(r.sides[i], w, want, []string{"mesial", "distal"}[i]))
		}
	}
	for i := range r.spec.Bites {
		want := &r.spec.Bites[i]
		w = occlusalWindow
		if want.Around == 0 {
			plain = append(plain, r.over(r.bite, w, &want.Touch, "occlusal"))
			continue
		}
		w.azimuth, w.half, w.from = want.Azimuth*degree, want.Around*degree/2, localFrom
		h := r.over(r.bite, w, &want.Touch, "local occlusal")
		h.within = occlusalWindow // its slopes may be the closest
		local = append(local, h)
	}
	for _, u := range r.spec.Under {
		w = underWindow
		side := r.sides[0]
		if math.Cos(u.Azimuth*degree) < 0 {
			side, w.azimuth = r.sides[1], math.Pi
		}
		if side != nil {
			local = append(local, r.over(side, w, &Touch{u.Distance, underHalf}, "cervical"))
		}
	}
	return r.touchAll(slices.Concat(slices.Repeat(plain, adjustRounds), local))
}

// localFrom keeps a local contact out of the fossa: a share of the way.
const localFrom = 0.25

// underHalf is the half width of a filling under a neighbour's bulge, mm.
const underHalf = 1.1

func (r *restoration) touchAll(list []*hillock) error {
	for _, h := range list {
		if err := r.touch(h); err != nil {
			return fmt.Errorf("invent crown: %s contact: %w", h.what, err)
		}
	}
	return nil
}

// contactResidue is how near a contact must come to the wanted distance, mm.
const contactResidue = 1e-5

// hillock is a hill that makes a contact.
type hillock struct {
	what   string
	teeth  *target
	within window
	want   *Touch
	mound  int
}

// wideHill is the half width from which a hill stands over the middle of the
// chewing surface, so that the whole of it rises or falls, mm.
const wideHill = 5

// over lays a hill of no height over the closest place.
func (r *restoration) over(t *target, w window, want *Touch, what string) *hillock {
	at, _ := r.out.least(t, &r.model.target.frame, w)
	p := r.out.at(at.a, at.q).Sub(geom.Vec{Z: r.out.nat.centre})
	if want.Half >= wideHill {
		p = geom.Vec{Z: p.Norm()}
	}
	r.out.mounds = append(r.out.mounds, mound{p.Unit(), want.Half / p.Norm(), 0})
	return &hillock{what, t, w, want, len(r.out.mounds) - 1}
}

// touch solves for the rise of a hill by secants.
func (r *restoration) touch(h *hillock) error {
	f, m := &r.model.target.frame, &r.out.mounds[h.mound]
	r0, d0 := math.NaN(), 0.0
	d := 0.0
	for range 30 {
		_, d = r.out.least(h.teeth, f, h.within)
		if math.Abs(d-h.want.Distance) < contactResidue {
			return nil
		}
		slope := (d - d0) / (m.rise - r0)
		if !(slope < -0.05) {
			slope = -1
		}
		r0, d0 = m.rise, d
		m.rise += math.Max(-0.5, math.Min(0.5, (h.want.Distance-d)/slope))
	}
	return fmt.Errorf("no hill of half width %g mm gives %g mm; it stays at %g", h.want.Half, h.want.Distance, d)
}
