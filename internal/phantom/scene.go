package phantom

import (
	"context"
	"math"
	"math/rand/v2"

	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
)

// tooth is one tooth of an arch with its sheet.
type tooth struct {
	slot  slot
	frame frame
	crown *crown // the natural crown; of the prepared tooth the lost one
	prep  *prep  // nil for a natural tooth
	cell  *cell
	sheet sheet
	per   []float64 // perimeters of the sheet, when measured
	at    []param   // where its own vertices lie, after weaving
	first int       // index of its first vertex in the arch's mesh
}

// arch is one jaw's teeth from the far end of the other side on.
type arch struct {
	teeth []*tooth
	seams []*papilla // one more than teeth
}

// layout places the natural teeth of an arch. Up is +1 for the prepared arch.
func layout(c *archCurve, plan *[9]anatomy, list []slot, sign, up, tips float64) *arch {
	a := &arch{}
	for _, s := range list {
		cr := newCrown(plan[s.position()])
		top := tips
		if cr.front && up < 0 {
			top -= frontOverbite
		}
		f := seat(c, plan, s, sign, top-up*cr.length, up)
		a.teeth = append(a.teeth, &tooth{slot: s, frame: f, crown: cr})
	}
	return a
}

// join sets the seams between the teeth and at both ends.
func (a *arch) join(c *archCurve, plan *[9]anatomy, sign, up float64) {
	for i := range len(a.teeth) + 1 {
		a.seams = append(a.seams, a.seam(c, plan, i, sign, up))
	}
}

// seam describes the papilla before tooth i, or behind the last one.
func (a *arch) seam(c *archCurve, plan *[9]anatomy, i int, sign, up float64) *papilla {
	before, after := a.teeth[max(i-1, 0)], a.teeth[min(i, len(a.teeth)-1)]
	from, to := bounds(plan, after.slot)
	s, peak := from, 2.0
	if i == 0 {
		s -= 1.3
		peak = 1.0
	}
	if i == len(a.teeth) {
		s = to + 1.3
		peak = 1.0
	}
	p, _, b := c.at(s, sign)
	bl := math.Max(before.crown.bl, after.crown.bl)
	margin := (before.frame.o.Z + after.frame.o.Z) / 2
	return &papilla{p: p, buccal: b, oral: bl/2 + 3.2, out: bl/2 + 4, margin: margin + up*0.6, peak: peak, half: 0.62 * bl, up: up}
}

// around returns the seams of tooth i: mesial and distal.
func (a *arch) around(i int) (mesial, distal int) {
	if a.teeth[i].slot < 0 {
		return i + 1, i
	}
	return i, i + 1
}

// finish gives every tooth its cell and sheet. level returns a natural tooth's
// shape in its own frame.
func (a *arch) finish(ctx context.Context, level func(t *tooth) func(geom.Vec) float64) error {
	lines := make([][]geom.Vec, len(a.seams))
	for i, s := range a.seams {
		lines[i] = s.points(cellStep)
	}
	return par.Do(ctx, len(a.teeth), 1, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			a.sheet(i, lines, level)
		}
	})
}

func (a *arch) sheet(i int, lines [][]geom.Vec, level func(t *tooth) func(geom.Vec) float64) {
	t := a.teeth[i]
	m, d := a.around(i)
	t.cell = newCell(t.frame, lines[m], lines[d], cellStep)
	if t.prep != nil {
		t.prep.border = t.cell.at
		t.sheet = newPrepSheet(t.prep)
		return
	}
	margin := sides{m: 2.0, b: 0.7, d: 2.0, l: 0.8}
	t.sheet = newNatural(level(t), 0.4*t.crown.length, margin, t.cell.at)
}

// spacing finds the edge length that gives about the wanted facets.
func (a *arch) spacing(ctx context.Context, facets int, aligned bool) (float64, error) {
	err := par.Do(ctx, len(a.teeth), 1, func(lo, hi int) {
		for _, t := range a.teeth[lo:hi] {
			t.per = perimeters(t.sheet)
		}
	})
	lo, hi := 0.02, 2.0
	for range 30 {
		h := math.Sqrt(lo * hi)
		n := 0
		for _, t := range a.teeth {
			n += planned(plan(t.sheet, t.per, h, aligned), int(60/h))
		}
		if n > facets {
			lo = h
		} else {
			hi = h
		}
	}
	return hi, err
}

// mesh weaves all teeth into one sheet.
func (a *arch) mesh(ctx context.Context, h float64, aligned bool, rng *rand.Rand) (*mesh.Mesh, error) {
	out := &mesh.Mesh{}
	seams := make([][]geom.Vec, len(a.seams))
	first := make([]int32, len(a.seams))
	for i, s := range a.seams {
		seams[i] = s.points(1.3 * h)
		first[i] = int32(len(out.V))
		out.V = append(out.V, seams[i]...)
	}
	for i, t := range a.teeth {
		m, d := a.around(i)
		b := t.borderRow(out, seams[m], seams[d], first[m], first[d], 1.3*h)
		if err := t.weave(ctx, out, b, h, aligned, rng); err != nil {
			return nil, err
		}
	}
	a.fair(out, h)
	return out, nil
}

// borderRow collects the cell's border vertices in order of azimuth, adding
// those of the free edges to the mesh.
func (t *tooth) borderRow(out *mesh.Mesh, mesial, distal []geom.Vec, m0, d0 int32, spacing float64) row {
	var r row
	add := func(p geom.Vec, index int32) {
		q := t.frame.toTooth(p)
		r.az = append(r.az, math.Atan2(q.Y, q.X))
		r.index = append(r.index, index)
	}
	buccal, oral := t.frame.edgeMiddles(mesial, distal)
	edge := func(a, mid, b geom.Vec) {
		for _, p := range edgePoints(a, mid, b, spacing) {
			add(p, int32(len(out.V)))
			out.V = append(out.V, p)
		}
	}
	n, k := len(mesial), len(distal)
	for i, p := range mesial {
		add(p, m0+int32(i))
	}
	edge(mesial[n-1], buccal, distal[k-1])
	for i := k - 1; i >= 0; i-- {
		add(distal[i], d0+int32(i))
	}
	edge(distal[0], oral, mesial[0])
	return r.rising()
}

// rising turns the row so that its azimuths rise from the first.
func (r row) rising() row {
	k := 0
	for i, a := range r.az {
		if a < r.az[k] {
			k = i
		}
	}
	return row{append(append([]float64{}, r.az[k:]...), r.az[:k]...),
		append(append([]int32{}, r.index[k:]...), r.index[:k]...)}
}

// weave adds the tooth's facets; border indices are already the arch's.
func (t *tooth) weave(ctx context.Context, out *mesh.Mesh, border row, h float64, aligned bool, rng *rand.Rand) error {
	t.first = len(out.V)
	if t.per == nil {
		t.per = perimeters(t.sheet)
	}
	rings := plan(t.sheet, t.per, h, aligned)
	for i := range border.index {
		border.index[i] -= int32(t.first)
	}
	m, at, err := weave(ctx, t.sheet, rings, border, rng, aligned)
	if err != nil {
		return err
	}
	t.at = at
	appendTurned(out, m, &t.frame, t.frame.leftHanded())
	return nil
}

// appendTurned adds a mesh of the tooth's frame to one of the arch. In a
// left-handed frame the facets must be turned over.
func appendTurned(out, m *mesh.Mesh, f *frame, turned bool) {
	first := int32(len(out.V))
	for _, p := range m.V {
		out.V = append(out.V, f.toArch(p))
	}
	for _, t := range m.F {
		g := [3]int32{t[0] + first, t[1] + first, t[2] + first}
		if turned {
			g[1], g[2] = g[2], g[1]
		}
		out.F = append(out.F, g)
	}
}
