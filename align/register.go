package align

import (
	"context"
	"fmt"
	"math"

	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/mesh"
)

// Options say how surfaces are registered; the zero value is for two scans of
// one thing in unknown frames.
type Options struct {
	// Start is roughly the motion, when it is known: no point of the overlap
	// may be farther than Reach from its place under it. Without it the
	// surfaces are tried as they are, and then in any pose.
	Start *geom.Rigid
	Reach float64 // mm; default 3

	// MovingWeight and FixedWeight, one number from 0 to 1 a vertex, hold the
	// registration to a region, for instance to the unprepared neighbours. Nil
	// means everything.
	MovingWeight, FixedWeight []float64

	// Near, mm: surfaces that are one lie within this of each other, and half
	// of what comes near within a fifth of it. The default of 0.1 is for scans; a copy
	// with errors of 50 um needs 0.2. The larger, the likelier another tooth of
	// like shape is taken for this one.
	Near float64

	LeastOverlap float64 // share of the smaller surface that must lie within Near; default 0.3
	LeaveWithin  float64 // mm; surfaces that the best motion would move by no more are left alone; default 0.05, negative: never
	AllowOpen    bool    // accept a motion with open freedoms, as for a body of revolution; those are left as at the start
	Points       int     // most vertices of the moving surface used in the end; default 200,000
}

func (o Options) filled() Options {
	fill := func(x *float64, d float64) {
		if *x == 0 {
			*x = d
		}
	}
	fill(&o.Reach, 3)
	fill(&o.Near, 0.1)
	fill(&o.LeastOverlap, 0.3)
	fill(&o.LeaveWithin, 0.05)
	if o.Points == 0 {
		o.Points = 200000
	}
	return o
}

// Result is what a registration found.
type Result struct {
	Motion geom.Rigid // takes the moving surface to the fixed one
	Stop   Stop       // InFrame or Converged where there is no error
	Rounds int        // how often points were paired
	Moves  float64    // mm: root mean square displacement by the best motion found; Motion itself is none where Stop is InFrame
	Quality
	Condition Condition
	// Covariance of the motion, rotation vector (rad) and displacement (mm)
	// about Condition.Center, of the noise in the distances; zero along open
	// freedoms.
	Covariance [6][6]float64
}

// Spread is the standard uncertainty, mm, that a registration gives to a
// distance on the surface: of its displacement, and of its rotation over the
// mean reach of the surface.
func (r *Result) Spread() float64 {
	s := 0.0
	for i := range 3 {
		s += r.Covariance[i][i]*r.Condition.Size*r.Condition.Size + r.Covariance[i+3][i+3]
	}
	return math.Sqrt(s / 3)
}

// Register finds the rigid motion that takes the moving surface to the fixed
// one. Both may be open, partly missing and of any triangulation. It refuses,
// with a *RefusedError, what has too little in common, differs in shape, slides
// along itself or fits in two ways; the result then says how far it got.
func Register(ctx context.Context, moving, fixed *mesh.Mesh, o Options) (Result, error) {
	return RegisterTo(ctx, moving, bvh.New(fixed), o)
}

// RegisterTo is Register for a fixed surface whose tree is there already.
func RegisterTo(ctx context.Context, moving *mesh.Mesh, fixed *bvh.Tree, o Options) (Result, error) {
	r, err := newRegistration(moving, fixed, o.filled())
	if err != nil {
		return Result{Motion: geom.Still()}, err
	}
	if o.Start != nil {
		return r.fromStart(ctx, *o.Start)
	}
	if out, err, done := r.asTheyAre(ctx); done {
		return out, err
	}
	return r.fromAnywhere(ctx)
}

// registration is one on its way.
type registration struct {
	Options
	moving, fixed *mesh.Mesh
	to            target
	cube          float64  // edge of the samples' cubes, mm
	samples       []sample // of the moving surface
	fixedSamples  []sample // made when needed
	cover         float64  // weighted area of the moving surface over that of the smaller one
}

// Edges of the samples' cubes and how many samples there should be.
const (
	usualCube   = 0.6   // mm: fine enough for cusps and fossae, coarse enough to even out noise
	mostSamples = 12000 // of the larger surface: beyond it cubes grow
	leastCubes  = 800   // of the smaller surface: below it cubes shrink
	finestCube  = 0.25  // mm: smaller cubes are all noise
)

func newRegistration(moving *mesh.Mesh, fixed *bvh.Tree, o Options) (*registration, error) {
	if o.MovingWeight != nil && len(o.MovingWeight) != len(moving.V) || o.FixedWeight != nil && len(o.FixedWeight) != len(fixed.Mesh().V) {
		return nil, fmt.Errorf("register surfaces: %d and %d weights for %d and %d vertices; give one a vertex, or none",
			len(o.MovingWeight), len(o.FixedWeight), len(moving.V), len(fixed.Mesh().V))
	}
	r := &registration{Options: o, moving: moving, fixed: fixed.Mesh(), to: target{fixed, o.FixedWeight}}
	a, b := weightedArea(moving, o.MovingWeight), weightedArea(r.fixed, o.FixedWeight)
	if !(min(a, b) > 0) {
		return nil, &RefusedError{TooLittleOverlap, "a surface has no facets in its region", "check that the files and regions are the right ones"}
	}
	r.cover = a / min(a, b)
	r.cube = cubeFor(min(a, b), max(a, b))
	r.samples = samplesOf(moving, o.MovingWeight, r.cube)
	return r, nil
}

// cubeFor returns the edge of the cubes for two areas, mm^2.
func cubeFor(small, large float64) float64 {
	c := min(usualCube, math.Sqrt(small/leastCubes))
	return max(c, finestCube, math.Sqrt(large/mostSamples))
}
