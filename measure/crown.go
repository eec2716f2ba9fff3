package measure

import (
	"cmp"
	"context"
	"fmt"
	"math"

	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
	"crownassay/reading"
)

// Crown is a restoration in the frame of its site: one shell, split at its
// margin edge into the intaglio, which faces the preparation, and the cameo,
// which is everything else.
type Crown struct {
	*Site
	Shell    *Surface
	Open     bool     // only the outer surface was given
	Cameo    *Surface // its border is the margin edge
	Intaglio *Surface // nil where Open
	Notes    []string
	Settings CrownSettings // set after NewCrown

	EdgeR, EdgeZ []float64 // margin edge per section, mm; NaN where there is none

	cameo, intaglio []run      // per section: from the axis to the margin edge, and back
	margin          []geom.Vec // margin edge per section, bridged where there is none
	occlusal, axial thick
	inner           *inner    // found when first asked for
	sides           [2]*field // distances from the teeth beside, mesial and distal
	spacing         float64   // median edge of the shell's facets, mm
}

// CrownError says why a surface is no crown of this preparation.
type CrownError struct{ What, Hint string }

func (e *CrownError) Error() string { return e.What + ": " + e.Hint }

// What a surface must show to be the crown of a preparation. Lengths mm.
const (
	largestCrown   = 20.0 // across, with a stump of the sprue
	crownReach     = 14.0 // half of the largest crown, and its offset from the finish line's centre
	farthestEdge   = 1.0  // the margin edge lies this near to the finish line in the median, or it is another tooth's: crowns of the preparation stay within 0.3
	farthestCavity = 0.35 // the same of the cavity and the preparation: cement spaces stay below 0.2
	cavityEvery    = 16   // of the points of a section of the cavity one is looked at
	shallow        = 0.8  // a cavity is at least this deep in the median
	leastEdge      = 0.75 // share of sections that must show a margin edge
)

// NewCrown splits a shell. An error of type *CrownError says that it is no
// crown of this preparation; others are the context's.
func NewCrown(ctx context.Context, s *Site, m *mesh.Mesh) (*Crown, error) {
	return CrownOf(ctx, s, NewSurface(m))
}

// CrownOf is NewCrown for a surface that is there already.
func CrownOf(ctx context.Context, s *Site, shell *Surface) (*Crown, error) {
	one, notes, err := s.shellOver(shell.Mesh, shell.adj)
	if err != nil {
		return nil, err
	}
	if one != shell.Mesh {
		shell = NewSurface(one)
	}
	c := &Crown{Site: s, inner: &inner{}, Shell: shell, Notes: notes, spacing: MedianEdge(one)}
	c.Open = len(c.Shell.Loops) > 0
	runs, err := s.halfPlanes(ctx, c.Shell, 2*crownReach)
	if err != nil {
		return nil, err
	}
	c.split(runs)
	if err := c.check(ctx); err != nil {
		return nil, err
	}
	return c, par.Together(ctx, func() error { c.label(); return nil }, func() error { return c.noteCrossings(ctx) })
}

// shellOver returns the piece of a mesh that stands over the preparation. The
// others are named in a note.
func (s *Site) shellOver(m *mesh.Mesh, adj *mesh.Adjacency) (*mesh.Mesh, []string, error) {
	label, n := mesh.Shells(m, adj)
	boxes, count := make([]geom.Box, n), make([]int, n)
	for i := range boxes {
		boxes[i] = geom.EmptyBox()
	}
	for f, t := range m.F {
		if l := label[f]; l >= 0 {
			count[l]++
			for _, v := range t {
				boxes[l] = boxes[l].Include(m.V[v])
			}
		}
	}
	if d := m.Box().Size(); n == 1 && math.Max(d.X, math.Max(d.Y, d.Z)) > largestCrown {
		return nil, nil, &CrownError{fmt.Sprintf("it is %.0f mm across, which no single crown is", math.Max(d.X, math.Max(d.Y, d.Z))),
			"it is the scan of an arch; give the crown alone"}
	}
	best := -1
	for i, b := range boxes {
		if b.Center().Dist(s.Frame.Origin) < crownReach && (best < 0 || count[i] > count[best]) {
			best = i
		}
	}
	if best < 0 {
		d := m.Box().Center().Dist(s.Frame.Origin)
		return nil, nil, &CrownError{fmt.Sprintf("it lies %.0f mm from the preparation", d),
			"it is the crown of another tooth, or was exported in another frame than the arch: export both from one session"}
	}
	if n == 1 {
		return m, nil, nil
	}
	one := labelled(m, label, int32(best))
	note := fmt.Sprintf("it consists of %d separate shells; the one over the preparation, %d of %d facets, was measured", n, len(one.F), len(m.F))
	return one, []string{note}, nil
}

// labelled returns the mesh of the facets with one label.
func labelled(m *mesh.Mesh, label []int32, one int32) *mesh.Mesh {
	var f [][3]int32
	for i, t := range m.F {
		if label[i] == one {
			f = append(f, t)
		}
	}
	return compact(m, f)
}

// compact returns the mesh of some facets of m with the vertices that they
// name, in their order.
func compact(m *mesh.Mesh, facets [][3]int32) *mesh.Mesh {
	to := make([]int32, len(m.V))
	for _, t := range facets {
		for _, v := range t {
			to[v] = 1
		}
	}
	out := &mesh.Mesh{F: make([][3]int32, len(facets))}
	for v := range to {
		if to[v] == 1 {
			out.V = append(out.V, m.V[v])
			to[v] = int32(len(out.V) - 1)
		}
	}
	for i, t := range facets {
		out.F[i] = [3]int32{to[t[0]], to[t[1]], to[t[2]]}
	}
	return out
}

// split finds the margin edge of each section and divides the sections there.
func (c *Crown) split(runs [][]run) {
	n := finishline.Sections
	c.EdgeR, c.EdgeZ = make([]float64, n), make([]float64, n)
	c.cameo, c.intaglio = make([]run, n), make([]run, n)
	for k := range n {
		c.EdgeR[k], c.EdgeZ[k] = math.NaN(), math.NaN()
		u := longestRun(runs[k])
		if u == nil {
			continue
		}
		i := len(u.p) - 1
		if !c.Open {
			i = u.marginEdge()
		}
		c.part(k, u, i)
	}
	if c.Open {
		return
	}
	r, z := betweenSides(c.EdgeR, strayAround), betweenSides(c.EdgeZ, strayAround)
	for k := range n {
		among := flat{r[k], z[k]}
		if (flat{c.EdgeR[k], c.EdgeZ[k]}).dist(among) > edgeStray {
			u := longestRun(runs[k])
			c.part(k, u, u.edgeNear(among, len(c.cameo[k].p)-1))
		}
	}
}

// part parts section k at point i of its outline, unless that is negative.
func (c *Crown) part(k int, u *run, i int) {
	if i < 0 {
		return
	}
	c.EdgeR[k], c.EdgeZ[k] = u.p[i].r, u.p[i].z
	c.cameo[k] = run{u.p[:i+1], u.facet[:i]}
	c.intaglio[k] = run{u.p[i:], u.facet[i:]}
}

// longestRun returns the longest of the pieces of a section.
func longestRun(runs []run) *run {
	var best *run
	most := 0.0
	for i := range runs {
		a := runs[i].arcs()
		if l := a[len(a)-1]; l > most {
			best, most = &runs[i], l
		}
	}
	return best
}

// check refuses what is no crown of this preparation.
func (c *Crown) check(ctx context.Context) error {
	var off, deep []float64
	for k := range c.EdgeR {
		if !math.IsNaN(c.EdgeR[k]) {
			off = append(off, math.Hypot(c.EdgeR[k]-c.Line.R[k], c.EdgeZ[k]-c.Line.Z[k]))
			deep = append(deep, c.depth(k))
		}
	}
	upside := &CrownError{"its cavity opens to the occlusal", "it is upside down; export it in the frame of the arch"}
	switch {
	case len(off) < int(leastEdge*finishline.Sections) || (!c.Open && finishline.Median(deep) < shallow):
		if down, err := c.upsideDown(ctx); err != nil || down {
			return cmp.Or(err, error(upside))
		}
		if len(off) < int(leastEdge*finishline.Sections) && !c.solid() {
			_, r, _ := c.Frame.Cylinder(c.Shell.Mesh.Box().Center())
			return &CrownError{fmt.Sprintf("no margin edge runs around the preparation; its middle lies %.1f mm beside the axis of placement", r),
				"it is the crown of another tooth, no crown, or was exported in another frame than the arch"}
		}
		return &CrownError{"it has no cavity over the preparation", "it is a solid block; give the crown with its inner surface"}
	case finishline.Median(off) > farthestEdge:
		return &CrownError{fmt.Sprintf("its margin edge lies %.1f mm from the finish line in the median", finishline.Median(off)),
			"it is the crown of another tooth or preparation, or was exported in another frame"}
	}
	if m, ok := c.fits(); !ok {
		return &CrownError{fmt.Sprintf("its cavity lies %.2f mm from the preparation in the median", m),
			"it is the crown of another tooth or preparation, or was exported in another frame"}
	}
	return nil
}

// depth is how far the cavity reaches above the margin edge in section k.
func (c *Crown) depth(k int) float64 {
	top := math.Inf(-1)
	for _, p := range c.intaglio[k].p {
		top = math.Max(top, p.z)
	}
	return top - c.EdgeZ[k]
}

// solid reports whether the shell is full where the preparation stands.
func (c *Crown) solid() bool {
	for _, z := range []float64{shallow, 1.5 * shallow, 2 * shallow} {
		h, ok := c.Shell.Tree.Signed(c.Frame.At(0, 0, z), crownReach)
		if !ok || h.Dist >= 0 {
			return false
		}
	}
	return !c.Open
}

// fits reports whether most of the cavity lies near the preparation.
func (c *Crown) fits() (median float64, ok bool) {
	var d []float64
	for k := range c.intaglio {
		for i, p := range c.intaglio[k].p {
			if i%cavityEvery != 0 {
				continue
			}
			if h, found := c.Prepared.Tree.Signed(c.Frame.At(float64(k), p.r, p.z), crownReach); found {
				d = append(d, math.Abs(h.Dist))
			}
		}
	}
	median = finishline.Median(d)
	return median, !(median > farthestCavity)
}

// upsideDown reports whether the shell has a cavity that opens the other way.
func (c *Crown) upsideDown(ctx context.Context) (bool, error) {
	if c.Open {
		return false, nil
	}
	turned := *c.Site
	turned.divided = &divided{}
	found := *c.Found
	found.Frame.Z = found.Frame.Z.Neg()
	found.Frame.Origin = c.Shell.Mesh.Box().Center()
	turned.Found = &found
	runs, err := turned.halfPlanes(ctx, c.Shell, 2*crownReach)
	if err != nil {
		return false, err
	}
	other := Crown{Site: &turned, Shell: c.Shell}
	other.split(runs)
	var deep []float64
	for k := range other.EdgeR {
		if !math.IsNaN(other.EdgeR[k]) {
			deep = append(deep, other.depth(k))
		}
	}
	return len(deep) > finishline.Sections/2 && finishline.Median(deep) >= shallow, nil
}

// EdgePoint returns the margin edge at azimuth index k in space; ok is false
// where there is none.
func (c *Crown) EdgePoint(k int) (p geom.Vec, ok bool) {
	k = wrap(k)
	if math.IsNaN(c.EdgeR[k]) {
		return geom.Vec{}, false
	}
	return c.Frame.At(float64(k), c.EdgeR[k], c.EdgeZ[k]), true
}

// Readings makes every reading of a crown. Step is told before each group, from
// two goroutines; it may be nil.
func (c *Crown) Readings(ctx context.Context, step func(name string)) ([]reading.Reading, error) {
	plain := func(f func() []reading.Reading) func(context.Context) ([]reading.Reading, error) {
		return func(context.Context) ([]reading.Reading, error) { return f(), nil }
	}
	groups := []group{
		{name: "thickness", make: c.Thickness},
		{name: "fit", make: c.Fit},
		{name: "contour", make: plain(c.Contour)},
		{name: "contour of the other side", make: c.AgainstMirror},
		{name: "contacts", make: c.Contacts, other: true},
		{name: "ridges", make: c.Ridges, other: true},
		{name: "strength", make: c.Strength},
		{name: "seating", make: c.Seating, other: true},
	}
	if !c.Settings.Made {
		groups = append(groups, group{name: "block", make: c.Blank}, group{name: "tool", make: c.Tool})
	}
	return makeInTwo(ctx, step, groups)
}
