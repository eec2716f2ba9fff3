package phantom

import (
	"context"
	"fmt"
	"math"
)

// The kinds of defects. Azimuth is the middle of the place; Extent 0 and
// Amount 0 mean what stands in brackets.
const (
	ShortClearance  = "short clearance"     // a cusp left high (60 degrees) until the clearance is Amount (0.62 mm)
	UndercutDent    = "undercut dent"       // hollow in the wall (50 degrees), Amount deep (0.4 mm); one alone the path can lean away from
	WideTaper       = "wide taper"          // all walls lean for a convergence of Amount (32 degrees)
	NarrowFinish    = "narrow finish line"  // Extent (70 degrees) only Amount wide (0.3 mm)
	SharpLineAngle  = "sharp line angle"    // Extent (all round) with a radius of Amount (0.05 mm)
	SmearedFinish   = "smeared finish line" // fluid over Extent (40 degrees): the turn is gone
	MissingFinish   = "missing finish line" // no data over Extent (30 degrees), Amount wide (1.0 mm)
	Hole            = "hole"                // no data in the wall within Amount (0.5 mm)
	WrongUnit       = "wrong unit"          // coordinates times Amount (0.001: written in metres)
	FlippedNormals  = "flipped normals"     // facets of the prepared surface turned over
	SwappedSurfaces = "swapped surfaces"    // prepared and opposing exchanged
	WrongTooth      = "wrong tooth"         // the number of the tooth on the other side
	NoPreparation   = "no preparation"      // natural teeth only
	ClosedShell     = "closed shell"        // a crown as the prepared surface
)

// usual holds the default extent (degrees) and amount of every kind.
var usual = map[string][2]float64{
	ShortClearance: {60, 0.62}, UndercutDent: {50, 0.4}, WideTaper: {360, 32}, NarrowFinish: {70, 0.3},
	SharpLineAngle: {360, 0.05}, SmearedFinish: {40, 0}, MissingFinish: {30, 1}, Hole: {0, 0.5}, WrongUnit: {0, 0.001},
	FlippedNormals: {}, SwappedSurfaces: {}, WrongTooth: {}, NoPreparation: {}, ClosedShell: {},
}

// filled returns the defects with their defaults; an unknown kind is an error.
func filled(list []Defect) ([]Defect, error) {
	out := make([]Defect, 0, len(list))
	for i, d := range list {
		u, ok := usual[d.Kind]
		if !ok {
			u, ok = crownUsual[d.Kind]
		}
		if !ok {
			return nil, fmt.Errorf("invent defect %d: unknown kind %q", i, d.Kind)
		}
		if d.Extent == 0 {
			d.Extent = u[0]
		}
		if d.Amount == 0 {
			d.Amount = u[1]
		}
		out = append(out, d)
	}
	return out, nil
}

// has reports whether a kind is asked for, and the first such defect.
func (s Spec) has(kind string) (Defect, bool) {
	for _, d := range s.Defects {
		if d.Kind == kind {
			return d, true
		}
	}
	return Defect{}, false
}

// spoil changes the preparation's formulae by the defects that live there.
func (p *prep) spoil(list []Defect) {
	for _, d := range list {
		a, e := d.Azimuth*degree, d.Extent*degree
		switch d.Kind {
		case UndercutDent:
			p.dents = append(p.dents, dent{a, e / 2, d.Amount})
		case WideTaper:
			p.taper = series{c: []float64{d.Amount / 2 * degree}, s: []float64{0}}
		case NarrowFinish:
			p.width.arcs = append(p.width.arcs, arc{a, e, d.Amount})
		case SharpLineAngle:
			p.round.arcs = append(p.round.arcs, arc{a, e, d.Amount})
		case SmearedFinish:
			p.smears = append(p.smears, arc{azimuth: a, extent: e})
		}
	}
}

// raise leaves cusps high until the clearance there is what was asked.
func (m *model) raise(ctx context.Context, list []Defect) error {
	var t *target
	for _, d := range list {
		if d.Kind != ShortClearance {
			continue
		}
		if t == nil {
			t = newTarget(m.opposing.within(m.target.frame.o, 13))
		}
		p := m.target.prep
		p.spurs = append(p.spurs, spur{azimuth: d.Azimuth * degree, half: d.Extent / 2 * degree})
		if err := m.raiseOne(ctx, t, &p.spurs[len(p.spurs)-1], d.Amount); err != nil {
			return err
		}
	}
	return nil
}

// raiseOne solves for the height of the spur by regula falsi: the clearance
// falls as the spur rises.
func (m *model) raiseOne(ctx context.Context, t *target, s *spur, want float64) error {
	room := func(h float64) (float64, error) {
		s.height = h
		v, err := m.roomNear(ctx, t, s)
		return v - want, err
	}
	lo, hi := -1.0, 2.5
	flo, err := room(lo)
	if err != nil {
		return err
	}
	fhi, err := room(hi)
	if err != nil {
		return err
	}
	for range 40 {
		h := lo + (hi-lo)*math.Min(0.9, math.Max(0.1, flo/(flo-fhi)))
		f, err := room(h)
		if err != nil || math.Abs(f) < 1e-4 {
			return err
		}
		if f > 0 {
			lo, flo = h, f
		} else {
			hi, fhi = h, f
		}
	}
	return nil
}

// roomNear is the robust minimum of the clearance about a spur.
func (m *model) roomNear(ctx context.Context, t *target, s *spur) (float64, error) {
	const turns, steps = 60, 48
	p := m.target.prep
	var probes []probe
	for i := range turns {
		a := s.azimuth + s.half*(2*(float64(i)+0.5)/turns-1)
		c := p.section(a)
		for k := range steps {
			u := 0.3 + 1.3*(float64(k)+0.5)/steps
			n := p.normalAt(a, u)
			probes = append(probes, probe{p: m.target.frame.toArch(c.place(a, u)), area: n.Norm() * 2 * s.half / turns * 1.3 / steps})
		}
	}
	err := t.measure(ctx, probes, 1)
	v, _ := robustMin(probes, func(int) bool { return true })
	return v, err
}
