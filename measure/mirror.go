package measure

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"crownassay/align"
	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/mesh"
	"crownassay/reading"
)

// How the tooth of the other side is laid beside the crown. Lengths mm.
const (
	mirrorReach    = 22.0 // around the preparation: three teeth to either side hold the mirrored arch
	mirrorNear     = 0.6  // the two sides of an arch are this alike: larger, and another tooth is taken for the neighbour
	mirrorShare    = 0.3  // of the neighbours' surface that must be
	mirrorAcross   = 2.5  // the preparation's middle lies this far from the plane of symmetry, or it has no tooth of the other side
	mirrorBeside   = 1.0  // outside the finish line, in plan, neighbours begin
	mirrorAbove    = 1.0  // above the finish line's middle they are teeth, not gingiva
	mirrorBeyond   = 0.15 // outside its own outline nothing belongs to the mirrored tooth
	mirrorSeen     = 0.5  // share of the cameo that must lie beside the mirrored tooth
	mirrorSections = 0.75 // share of the sections that must show the mirrored tooth down to its gingiva
)

// mirrored is the tooth of the other side in this one's place, made when it is
// first asked for.
type mirrored struct {
	once    sync.Once
	surface *Surface // nil where there is none
	why     string   // then
	spread  float64  // mm: standard uncertainty of its place
	err     error
}

// otherSide returns the tooth of the other side, mirrored and registered on the
// neighbours.
func (s *Site) otherSide(ctx context.Context) *mirrored {
	s.mirror.once.Do(func() { s.mirror.err = s.mirror.find(ctx, s) })
	return s.mirror
}

// AgainstMirror makes the reading of how far the cameo reaches beyond the tooth
// of the other side.
func (c *Crown) AgainstMirror(ctx context.Context) ([]reading.Reading, error) {
	const id = "crown.contour.against_mirror"
	t := c.otherSide(ctx)
	if t.err != nil {
		return nil, t.err
	}
	if t.surface == nil {
		return []reading.Reading{unmeasured(id, t.why)}, nil
	}
	var spots []spot
	pieces(c.Cameo, spotArea, func(p geom.Vec, area float64) { spots = append(spots, spot{point: p, area: area}) })
	g, err := beyond(ctx, t.surface, spots)
	if err != nil {
		return nil, err
	}
	for i := range g {
		g[i].value = -g[i].value
	}
	m, ok := robustMin(g)
	if !ok || area(g) < mirrorSeen*total(spots) {
		return []reading.Reading{unmeasured(id, "too little of the tooth of the other side was scanned")}, nil
	}
	parts := append(c.lengthParts(4, 0), reading.Part{Name: "registration", Standard: t.spread})
	return []reading.Reading{{ID: id, Value: -m.value, At: c.placeOf(spots[m.i].point), Parts: parts}}, nil
}

// beyond returns the signed distances of spots from a surface, positive
// outside; spots that lie beyond its border are left out.
func beyond(ctx context.Context, to *Surface, spots []spot) ([]sample, error) {
	hits, err := to.nearest(ctx, pointsOf(spots), gapReach)
	if err != nil {
		return nil, err
	}
	out := make([]sample, 0, len(spots))
	for i := range hits {
		if h := &hits[i]; h.Facet >= 0 && !h.BeyondBorder {
			out = append(out, sample{to.gap(spots[i].point, h, true), spots[i].area, i})
		}
	}
	return out, nil
}

// find mirrors the arch, lays it on the neighbours and cuts the tooth out.
func (t *mirrored) find(ctx context.Context, s *Site) error {
	n := align.MeanNormal(s.Prepared.Mesh)
	if n.NormSq() == 0 {
		t.why = "the arch is a closed model, not a scan"
		return nil
	}
	pl, known, why := align.FindMirror(s.Prepared.Mesh, n.Unit())
	if !known {
		t.why = why + ": the tooth of the other side is not to be found"
		return nil
	}
	if math.Abs(pl.Side(s.Frame.Origin)) < mirrorAcross {
		t.why = "the preparation stands on the plane of symmetry of what was scanned"
		return nil
	}
	image, moving := s.mirrorImage(pl)
	if len(image.F) == 0 {
		t.why = "the other side of the arch was not scanned"
		return nil
	}
	start := geom.Still()
	r, err := align.RegisterTo(ctx, image, s.Prepared.Tree, align.Options{Start: &start, MovingWeight: moving, FixedWeight: s.besideWeights(),
		Near: mirrorNear, LeastOverlap: mirrorShare, LeaveWithin: -1})
	var no *align.RefusedError
	if errors.As(err, &no) {
		t.why = fmt.Sprintf("the mirrored arch does not fit the neighbouring teeth (%s: %s)", no.Stop, no.Why)
		return nil
	}
	if err != nil {
		return err
	}
	t.spread = max(r.Spread(), r.RMS/2)
	return t.cutOut(ctx, s, NewSurface(image.Move(r.Motion)))
}

// mirrorImage is the arch mirrored, within reach of the preparation, with the
// weights that leave the image of the preparation itself out.
func (s *Site) mirrorImage(pl geom.Plane) (*mesh.Mesh, []float64) {
	m := s.Prepared.Mesh
	across := func(p geom.Vec) geom.Vec { return p.Sub(pl.Normal.Mul(2 * pl.Side(p))) }
	var facets [][3]int32
	for f, t := range m.F {
		a, b, c := m.Corner(int32(f))
		if across(a.Add(b).Add(c).Mul(1.0/3)).Dist(s.Frame.Origin) < mirrorReach {
			facets = append(facets, [3]int32{t[0], t[2], t[1]})
		}
	}
	image := compact(m, facets)
	image.V = slices.Clone(image.V)
	w := make([]float64, len(image.V))
	for i, v := range image.V {
		image.V[i] = across(v)
		if s.outside(v, mirrorBeside) && s.outside(image.V[i], 0) {
			w[i] = 1
		}
	}
	return image, w
}

// outside reports whether p lies farther outside the finish line in plan.
func (s *Site) outside(p geom.Vec, by float64) bool {
	a, r, _ := s.Frame.Cylinder(p)
	return r > s.Line.R[wrap(int(math.Round(a)))]+by
}

// besideWeights choose the teeth beside the preparation.
func (s *Site) besideWeights() []float64 {
	w := make([]float64, len(s.Prepared.Mesh.V))
	for i, v := range s.Prepared.Mesh.V {
		if v.Dist(s.Frame.Origin) < mirrorReach && v.Sub(s.Frame.Origin).Dot(s.Frame.Z) > mirrorAbove && s.outside(v, mirrorBeside) {
			w[i] = 1
		}
	}
	return w
}

// cutOut keeps of the mirrored arch the tooth over the preparation, down to the
// crease at its gingiva or at its neighbours.
func (t *mirrored) cutOut(ctx context.Context, s *Site, image *Surface) error {
	runs, err := s.halfPlanes(ctx, image, 2*crownReach)
	if err != nil {
		return err
	}
	low, far := make([]float64, finishline.Sections), make([]float64, finishline.Sections)
	seen, middle := 0, math.Inf(-1)
	for k := range low {
		low[k], far[k] = math.NaN(), math.NaN()
		if u := topRun(runs[k]); u != nil {
			middle = math.Max(middle, u.p[0].z)
			if i := u.gumCrease(s.Line.R[k]); i > 0 {
				seen++
				low[k] = u.p[i].z
				for _, p := range u.p[:i+1] {
					far[k] = math.Max(p.r, nanLow(far[k]))
				}
			}
		}
	}
	if float64(seen) < mirrorSections*finishline.Sections {
		t.why = "the tooth of the other side is missing or was not scanned down to its gingiva"
		return nil
	}
	low, far = bridged(low), bridged(far)
	if middle-finishline.Median(slices.Clone(low)) < neighbourRise {
		t.why = "the tooth of the other side is missing"
		return nil
	}
	m := image.Mesh
	var keep [][3]int32
	for f, v := range m.F {
		a, b, c := m.Corner(int32(f))
		az, r, z := s.Frame.Cylinder(a.Add(b).Add(c).Mul(1.0 / 3))
		if k := wrap(int(math.Round(az))); z > low[k]+aboveCrease && r < far[k]+mirrorBeyond {
			keep = append(keep, v)
		}
	}
	one := largest(compact(m, keep))
	if one == nil {
		t.why = "the tooth of the other side was not scanned"
		return nil
	}
	t.surface = NewSurface(one)
	return nil
}

func nanLow(x float64) float64 {
	if math.IsNaN(x) {
		return math.Inf(-1)
	}
	return x
}

// gumCrease returns the point of a section, going down from the top, where a
// tooth ends: the sharpest concave turn of the first crease well below its top,
// which lies within a distance of the axis; -1 where there is none.
func (u *run) gumCrease(within float64) int {
	arc := u.arcs()
	top := 0
	for i, p := range u.p {
		if p.r < within && p.z > u.p[top].z {
			top = i
		}
	}
	for i := top; i < len(u.p); i++ {
		if u.p[i].z > u.p[top].z-belowTop || -u.turnAt(arc, i, oldWindow) < creaseTurn {
			continue
		}
		best := i
		for j := i; j < len(u.p) && arc[j]-arc[i] < 2*oldWindow; j++ {
			if u.turnAt(arc, j, oldWindow) < u.turnAt(arc, best, oldWindow) {
				best = j
			}
		}
		return best
	}
	return -1
}

// largest returns the connected piece with the most area; nil for an empty
// mesh.
func largest(m *mesh.Mesh) *mesh.Mesh {
	label, n := mesh.Shells(m, mesh.Adjacent(m))
	area := make([]float64, n)
	best := -1
	for f, l := range label {
		if l >= 0 {
			area[l] += geom.TriangleArea(m.Corner(int32(f)))
		}
	}
	for l := range area {
		if best < 0 || area[l] > area[best] {
			best = l
		}
	}
	if best < 0 {
		return nil
	}
	return labelled(m, label, int32(best))
}
