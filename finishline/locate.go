package finishline

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"crownassay/align"
	"crownassay/geom"
	"crownassay/internal/par"
)

// Found is a preparation: its frame (mesial not yet known: X is arbitrary),
// profiles, finish line, walls and placement axis.
type Found struct {
	Frame    align.Frame
	Profiles []Profile
	Line     *Curve
	Walls    []Wall
	Patches  []Patch
	Axis     Axis
}

// NotFoundError says why no preparation, or no single one, was found.
type NotFoundError struct {
	What    string
	Hint    string
	Several bool // there is more than one
}

func (e *NotFoundError) Error() string { return e.What + ": " + e.Hint }

// What a ring must show to be the finish line of a preparation.
const (
	leastSeen    = 0.45 // share of azimuths with a visible turn
	leastLegible = 0.25 // share of the circumference that is legible
	leastWalls   = 0.55 // share of azimuths with a wall
	widestTaper  = 35.0 // degrees, median inclination of the walls
	leastHeight  = 0.6  // mm, median wall height
	mostUndercut = 0.25 // share of the wall's area that may face away from the axis: undercuts of preparations are spots
	leastPlain   = 0.42 // share of sections that are plainly a preparation's: whole teeth with gingiva come to 0.3
	askedPlain   = 0.33 // the same where the operator says that the preparation is
	hopeless     = 0.2  // less than that after two rounds is not looked at further
	runnerUp     = 0.6  // a second ring this plain, as a share of the first, makes the case ambiguous
	passes       = 5    // most rounds of cutting about the axis found last
	sameRing     = 1.0  // mm: a ring whose middle comes this near to that of one found is the same; rounds after the first move by a few tenths
	settled      = 0.08 // degrees and thirds of a mm: the frame has stopped moving
)

// Locate finds the preparation of a scan. Up is roughly the occlusal
// direction; at, when given, is a point on the preparation. A
// *NotFoundError says that there is none or more than one.
func Locate(ctx context.Context, s Scan, up geom.Vec, at *geom.Vec) (*Found, error) {
	ss, err := seeds(ctx, s.Tree, s.Spacing, up, at)
	if err != nil {
		return nil, err
	}
	found, reasons := make([]*Found, len(ss)), make([]string, len(ss))
	look := func(i int, known *Found) (err error) {
		found[i], reasons[i], err = refine(ctx, s, align.NewFrame(ss[i].at, up, up.Normal(), 1), known)
		return err
	}
	if len(ss) > 0 { // the best by itself, since others often come to the same
		if err := look(0, nil); err != nil {
			return nil, err
		}
	}
	var looks []func() error
	for i := 1; i < len(ss); i++ {
		if first := found[0]; first != nil && first.Plainness() >= leastPlain && first.holds(ss[i].at, 0) {
			continue // of the same tooth
		}
		looks = append(looks, func() error { return look(i, found[0]) })
	}
	if err := par.Together(ctx, looks...); err != nil {
		return nil, err
	}
	var good []*Found
	why := "no ring of a finish line below a wall is seen"
	for i, f := range found {
		if f == nil {
			why = cmp.Or(reasons[i], why)
			continue
		}
		if !slices.ContainsFunc(good, func(g *Found) bool { return g.Frame.Origin.Dist(f.Frame.Origin) < sameTooth }) {
			good = append(good, f)
		}
	}
	return choose(good, at, why)
}

// choose returns the only preparation, or the one that at lies on.
func choose(good []*Found, at *geom.Vec, why string) (*Found, error) {
	need := leastPlain
	if at != nil {
		good = slices.DeleteFunc(good, func(f *Found) bool { return !f.holds(*at, beside) })
		need = askedPlain
	}
	good, best := plain(good, need)
	if len(good) == 0 && best > 0 {
		why = fmt.Sprintf("the likeliest ring shows a finish line under a free wall on only %.0f %% of its circumference", 100*best)
	}
	switch len(good) {
	case 0:
		hint := "check that the file is the prepared arch; if it is, give a point on the preparation as at: [x, y, z]"
		if at != nil {
			hint = "check the point given as at, and that the file is the prepared arch"
		}
		return nil, &NotFoundError{What: "no preparation was found (" + why + ")", Hint: hint}
	case 1:
		return good[0], nil
	}
	where := ""
	for _, f := range good {
		o := f.Frame.Origin
		where += fmt.Sprintf(" [%.1f, %.1f, %.1f]", o.X, o.Y, o.Z)
	}
	return nil, &NotFoundError{What: "more than one preparation was found, at" + where, Hint: "say which one with at: [x, y, z]", Several: true}
}

// plain keeps the rings that are plainly preparations, the plainest first,
// and those that come near to it; best is how plain the plainest of all is.
func plain(found []*Found, need float64) (good []*Found, best float64) {
	slices.SortStableFunc(found, func(a, b *Found) int { return cmp.Compare(b.Plainness(), a.Plainness()) })
	for _, f := range found {
		p := f.Plainness()
		best = math.Max(best, p)
		if p >= need && p >= runnerUp*best {
			good = append(good, f)
		}
	}
	return good, best
}

// beside is how far, mm, the operator's point on a preparation may lie outside
// its finish line.
const beside = 0.5

// holds reports whether p lies inside the finish line in plan, or at most so
// many mm outside of it.
func (f *Found) holds(p geom.Vec, outside float64) bool {
	a, r, _ := f.Frame.Cylinder(p)
	k := int(math.Round(a)) % Sections
	return r <= f.Line.R[k]+outside
}

// Refine cuts, traces and turns to the placement axis until the frame stays.
// A nil Found comes with the reason why this is no preparation.
func Refine(ctx context.Context, s Scan, frame align.Frame) (*Found, string, error) {
	return refine(ctx, s, frame, nil)
}

// refine is Refine that gives up, without a reason, where it comes to what is
// known already; known may be nil.
func refine(ctx context.Context, s Scan, frame align.Frame, known *Found) (*Found, string, error) {
	var f *Found
	for pass := range passes {
		g, why, err := once(ctx, s, frame, seedReach)
		if g == nil {
			return nil, why, err
		}
		f = g
		if pass == 1 && f.Plainness() < hopeless {
			return nil, "the ring found looks like the gingiva around a whole tooth", nil
		}
		next := f.next()
		if known != nil && next.Origin.Dist(known.Frame.Origin) < sameRing {
			return nil, "", nil
		}
		moved := math.Acos(math.Min(1, next.Z.Dot(frame.Z)))*180/math.Pi + next.Origin.Dist(frame.Origin)/0.3
		if moved < settled || pass == passes-1 {
			break
		}
		frame = next
	}
	why := f.doubt()
	if why != "" {
		return nil, why, nil
	}
	return f, "", nil
}

// once cuts within reach of one frame's axis and traces.
func once(ctx context.Context, s Scan, frame align.Frame, reach float64) (*Found, string, error) {
	profiles, err := Cut(ctx, s, frame, reach)
	if err != nil {
		return nil, "", err
	}
	line, ok, err := Trace(ctx, s, frame, profiles)
	if err != nil || !ok {
		return nil, "the finish line does not close to a ring", err
	}
	return build(s, frame, profiles, line), "", nil
}

// build finds walls and axis for a traced line.
func build(s Scan, frame align.Frame, profiles []Profile, line *Curve) *Found {
	f := &Found{Frame: frame, Profiles: profiles, Line: line, Walls: Walls(profiles, line, s)}
	f.Patches = Patches(frame, profiles, f.Walls, s)
	if len(f.Patches) > 0 {
		f.Axis = PlacementAxis(f.Patches, frame.Z)
	}
	return f
}

// next returns the frame about the axis just found, its origin at the
// centroid of the finish line.
func (f *Found) next() align.Frame {
	z := f.Frame.Z
	if f.Axis.Worst >= 0 && f.Axis.Direction.NormSq() > 0 && f.Axis.Direction.Dot(z) > 0.8 {
		z = f.Axis.Direction
	}
	return align.NewFrame(f.centroid(), z, f.Frame.X, f.Frame.Hand())
}

// centroid returns the centroid of the finish line by length.
func (f *Found) centroid() geom.Vec {
	var sum geom.Vec
	all := 0.0
	for k := range Sections {
		a, b := f.Line.Point(f.Frame, k), f.Line.Point(f.Frame, k+1)
		l := a.Dist(b)
		sum, all = sum.Add(a.Add(b).Mul(l/2)), all+l
	}
	return sum.Mul(1 / all)
}

// doubt returns why this is no preparation, or nothing.
func (f *Found) doubt() string {
	seen, walls := 0, 0
	var tapers, heights []float64
	for k := range Sections {
		if f.Line.Seen[k] {
			seen++
		}
		if w := &f.Walls[k]; w.Ok {
			walls++
			tapers, heights = append(tapers, w.Taper), append(heights, w.EdgeZ-f.Line.Z[k])
		}
	}
	switch {
	case seen < leastSeen*Sections:
		return "a finish line is seen on less than half of the circumference"
	case f.Line.Share(f.Frame) < leastLegible:
		return "less than a quarter of the ring is a legible finish line"
	case walls < leastWalls*Sections:
		return "axial walls are seen on hardly half of the circumference"
	case math.Abs(Median(tapers)) > widestTaper:
		return "what stands above the ring is no axial wall"
	case Median(heights) < leastHeight:
		return "what stands above the ring is lower than a wall"
	case f.undercutShare() > mostUndercut:
		return "what stands above the ring overhangs it, as a whole tooth or a crown does"
	}
	return ""
}

// undercutShare is the share of the wall's area that faces away from the
// placement axis.
func (f *Found) undercutShare() float64 {
	all := 0.0
	for i := range f.Patches {
		all += f.Patches[i].Area
	}
	if all == 0 {
		return 0
	}
	return f.Axis.Undercut / all
}

// wallShare is the share of azimuths with a wall.
func (f *Found) wallShare() float64 {
	n := 0
	for k := range f.Walls {
		if f.Walls[k].Ok {
			n++
		}
	}
	return float64(n) / Sections
}

// leastUndercut is the depth, mm, from which a section's wall counts as
// undercut when a preparation is told from a whole tooth, which bulges.
const leastUndercut = 0.1

// Plainness is the share of sections that show what a preparation shows all
// round: a sharp finish line under a wall that does not overhang it.
func (f *Found) Plainness() float64 {
	n := 0
	for k := range f.Walls {
		if w := &f.Walls[k]; w.Ok && f.Line.Sharp[k] && f.Profiles[k].overhang(w) < leastUndercut {
			n++
		}
	}
	return float64(n) / Sections
}

// overhang returns how much farther from the axis a higher point of the wall
// lies than a lower one.
func (p *Profile) overhang(w *Wall) float64 {
	low, deep := math.Inf(1), 0.0
	for i := w.Inner; i >= w.Edge; i-- {
		if !p.Gap[i] {
			low = math.Min(low, p.R[i])
			deep = math.Max(deep, p.R[i]-low)
		}
	}
	return deep
}

// Along returns what was found, cut anew about the same axis with azimuth 0
// at mesial and the given handedness.
func Along(ctx context.Context, s Scan, f *Found, mesial geom.Vec, hand float64) (*Found, error) {
	frame := align.NewFrame(f.Frame.Origin, f.Frame.Z, mesial, hand)
	g, why, err := once(ctx, s, frame, Reach)
	if err == nil && g == nil {
		err = fmt.Errorf("trace about the tooth's frame: %s", why)
	}
	return g, err
}
