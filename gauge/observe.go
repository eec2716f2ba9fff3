package gauge

import (
	"context"
	"errors"
	"fmt"
	"math"

	"crownassay/fit"
	"crownassay/geom"
	"crownassay/unit"
)

// indication is what one scan says of one dimension.
type indication struct {
	name     string
	unit     string // mm or deg
	value    float64
	standard float64 // of the fit
	ref      float64 // calibrated
	refU     float64 // standard uncertainty of that
	length   float64 // mm, over which it is measured
}

// observed is what one scan shows.
type observed struct {
	indications []indication
	noise, form float64 // mm: within and between patches
	points      int
	notes       []string
}

// absentError says that a scan does not show the body, so that other units can
// be tried.
type absentError struct{ why string }

func (e *absentError) Error() string { return e.why }

// observers find a body of each kind.
var observers = map[Kind]func(context.Context, *Body, *scan) (observed, error){
	Sphere: observeSphere, TwoSpheres: observeSpheres, Steps: observeSteps, Cylinder: observeCylinder, Cone: observeCone, Mesh: observeMesh,
}

// observe finds the body in a scan, seen from either side. What is wrong is
// said with the file and what to do.
func (b *Body) observe(ctx context.Context, s *scan) (observed, error) {
	o, err := observers[b.Kind](ctx, b, s)
	if ctx.Err() != nil {
		return o, ctx.Err()
	}
	if err != nil && b.Kind != Mesh {
		if again, err2 := observers[b.Kind](ctx, b, s.turned()); err2 == nil {
			o, err = again, nil
			o.notes = append(o.notes, s.file+" was inside out; it was turned")
		}
	}
	if errors.Is(err, fit.ErrOpen) {
		err = &absentError{"what was found does not hold the body's shape"}
	}
	var absent *absentError
	if errors.As(err, &absent) {
		return o, fmt.Errorf("measure %s: %s; %s", s.path, absent.why, b.otherUnit(ctx, s))
	}
	if err != nil {
		return o, fmt.Errorf("measure %s: %w", s.path, err)
	}
	return o, nil
}

// otherUnit looks whether the body is there in another unit, and says what to
// do.
func (b *Body) otherUnit(ctx context.Context, s *scan) string {
	hint := fmt.Sprintf("see that the scan (largest dimension %.4g mm) is one of the body \"%s\", in the unit that the body's file states (%s)", largest(s.m), b.Name, b.Units)
	if b.Kind == Mesh {
		return hint
	}
	for _, name := range []string{"um", "mm", "cm", "in", "m"} {
		mm, _ := unit.MillimetresPer(name)
		f := mm / b.scale()
		if l := largest(s.m) * f; f == 1 || l < 1 || l > 400 {
			continue
		}
		t := &scan{file: s.file, path: s.path, m: scaled(s.m, f)}
		if t.look(ctx) != nil {
			return hint
		}
		if _, err := observers[b.Kind](ctx, b, t); err == nil {
			return fmt.Sprintf("it fits when the file's unit is %s: write \"units: %s\" in %s", name, name, b.Path)
		}
	}
	return hint
}

const (
	// wrongBody is the share by which a found size may differ from the calibrated
	// one; beyond it, it is another body or another unit and not an error of a
	// scanner, which is a hundred times less.
	wrongBody = 0.05
	// inlierTol is how many robust standard deviations from the shape a point still
	// belongs to it.
	inlierTol = 8
	// leastTol is the least of that, mm: scans without noise.
	leastTol = 0.01
	// roughest is the largest root mean square distance, mm, from the fitted shape:
	// five times the noise of dental scanners (5 to 13 um, from the literature).
	// What lies farther off is something else, such as an edge.
	roughest = 0.06
	// firm is the least share of the points near the found shape that must lie on
	// it: on the body it is nearly all of them, and less where something else is
	// taken for it, such as a tooth for a cylinder.
	firm = 0.7
	// leastCap is the least half angle of the seen part of a sphere, degrees: below
	// it the diameter hangs on a sagitta of less than a quarter of the radius, and
	// errors of form of a few micrometres count tenfold.
	leastCap = 40.0
	// leastTurn is the least part of the circle of a cylinder or cone that must be
	// seen, degrees, for the same reason.
	leastTurn = 100.0
	// patchEdge is the edge, mm, of the patches over which scan noise may hold
	// together: a few tenths of a millimetre (see align).
	patchEdge = 1.0
)

var fitOptions = fit.Options{Robust: true, Patch: patchEdge}

// spread tells noise within patches from errors of form between them, by the
// distances of the points that belong to a shape and the places on it, where a
// patch ends whatever the noise: the variance of the patches'
// means less what noise makes of them (one-way analysis of variance).
func spread(pts []geom.Vec, dist []float64) (noise, form float64) {
	type sum struct{ n, s, sq float64 }
	at := map[[3]int]int{}
	var all []sum
	for i, p := range pts {
		k := [3]int{int(math.Floor(p.X / patchEdge)), int(math.Floor(p.Y / patchEdge)), int(math.Floor(p.Z / patchEdge))}
		j, ok := at[k]
		if !ok {
			j = len(all)
			at[k], all = j, append(all, sum{})
		}
		d := dist[i]
		all[j] = sum{all[j].n + 1, all[j].s + d, all[j].sq + d*d}
	}
	inner, free, n, mean, nSq := 0.0, 0.0, 0.0, 0.0, 0.0
	for _, a := range all {
		inner, free = inner+a.sq-a.s*a.s/a.n, free+a.n-1
		n, mean, nSq = n+a.n, mean+a.s, nSq+a.n*a.n
	}
	groups := float64(len(all))
	if free < 1 || groups < 2 {
		return 0, 0
	}
	mean /= n
	between := 0.0
	for _, a := range all {
		between += a.n * (a.s/a.n - mean) * (a.s/a.n - mean)
	}
	within := inner / free
	each := (n - nSq/n) / (groups - 1)
	return math.Sqrt(within), math.Sqrt(math.Max(0, (between/(groups-1)-within)/each))
}

// settled fits a shape to the vertices on it, first within tol and then within
// what its own noise says, and returns the points with their distances.
func settled[F form](ctx context.Context, s *scan, start F, tol float64, lay func([]geom.Vec, F) (F, fit.Quality, error)) (f F, q fit.Quality, pts []geom.Vec, err error) {
	f = start
	wide := tol
	for range 4 {
		if err := ctx.Err(); err != nil {
			return f, q, nil, err
		}
		if pts, _ = s.on(f, tol, mostPoints); len(pts) < leastVertices {
			return f, q, pts, &absentError{fmt.Sprintf("only %d points of the scan lie on the body", len(pts))}
		}
		if f, q, err = lay(pts, f); err != nil {
			return f, q, pts, err
		}
		next := math.Max(leastTol, inlierTol*q.RMS)
		if next >= tol {
			break
		}
		tol = next
	}
	if q.RMS > roughest {
		return f, q, pts, &absentError{fmt.Sprintf("what was found lies %.0f um off the body's shape, root mean square, which is another shape", 1000*q.RMS)}
	}
	all := s.count(f, wide)
	if on := float64(s.count(f, tol)) * float64(q.Points) / float64(len(pts)); all < leastVertices || on < firm*float64(all) {
		return f, q, pts, &absentError{fmt.Sprintf("of what lies near the found body only %.0f %% lies on it, so it is another shape", 100*on/float64(max(1, all)))}
	}
	return f, q, pts, nil
}

// absentUnless says that too few places lie on the body.
func (s *scan) absentUnless(votes int, what string) error {
	if votes < max(20, int(findVotes*float64(len(s.some)))) {
		return &absentError{"the scan shows no " + what}
	}
	return nil
}

// sized refuses a size that is not the body's.
func sized(what string, got, want float64) error {
	if math.Abs(got/want-1) > wrongBody {
		return &absentError{fmt.Sprintf("the %s found is %.3f mm, and %.3f mm is calibrated", what, got, want)}
	}
	return nil
}

// sphereAt fits a sphere from where it was found.
func (s *scan) sphereAt(ctx context.Context, start fit.Sphere) (sp fit.Sphere, q fit.Quality, pts []geom.Vec, err error) {
	return settled(ctx, s, start, findTol(start.Radius), func(p []geom.Vec, at fit.Sphere) (fit.Sphere, fit.Quality, error) {
		return fit.FitSphere(p, &at, fitOptions)
	})
}

// capOf is the half angle, degrees, of the part of a sphere that was seen: 95 %
// of the points lie within it around their middle.
func capOf(sp fit.Sphere, pts []geom.Vec) float64 {
	var sum geom.Vec
	for _, p := range pts {
		sum = sum.Add(p.Sub(sp.Center).Unit())
	}
	mid := sum.Unit()
	a := make([]float64, len(pts))
	for i, p := range pts {
		a[i] = math.Acos(math.Max(-1, math.Min(1, p.Sub(sp.Center).Unit().Dot(mid))))
	}
	return quantile(a, 0.95) * 180 / math.Pi
}

func seen(sp fit.Sphere, pts []geom.Vec) error {
	if a := capOf(sp, pts); a < leastCap {
		return &absentError{fmt.Sprintf("only a cap of %.0f degrees around its middle is seen of the sphere, which does not hold its diameter: scan it from more sides, %.0f degrees or more", a, leastCap)}
	}
	return nil
}

func observeSphere(ctx context.Context, b *Body, s *scan) (o observed, err error) {
	r := b.Diameter.MM / 2
	start, votes := s.findSphere(r, nowhere)
	if err := s.absentUnless(votes, fmt.Sprintf("sphere of %.3f mm", 2*r)); err != nil {
		return o, err
	}
	sp, q, pts, err := s.sphereAt(ctx, start)
	if err != nil {
		return o, err
	}
	if err := errors.Join(sized("sphere's diameter", 2*sp.Radius, 2*r), seen(sp, pts)); err != nil {
		return o, err
	}
	o.points = q.Points
	o.noise, o.form = spread(kept(q.Feet, q.Distances, q.RMS))
	o.indications = []indication{{"diameter", "mm", 2 * sp.Radius, 2 * q.Standard(3), b.Diameter.MM, b.Diameter.standard(), b.Diameter.MM}}
	return o, nil
}

// kept returns the places on the shape of the points that belong to it, with
// their distances: within inlierTol/2 times their root mean square.
func kept(feet []geom.Vec, dist []float64, rms float64) (p []geom.Vec, d []float64) {
	for i, r := range dist {
		if math.Abs(r) <= math.Max(leastTol, inlierTol/2*rms) {
			p, d = append(p, feet[i]), append(d, r)
		}
	}
	return p, d
}

func observeSpheres(ctx context.Context, b *Body, s *scan) (o observed, err error) {
	var sp [2]fit.Sphere
	var q [2]fit.Quality
	var pts []geom.Vec
	var dist []float64
	without := nowhere
	for i := range sp {
		r := b.Diameters[i].MM / 2
		start, votes := s.findSphere(r, without)
		if err := s.absentUnless(votes, fmt.Sprintf("sphere %d of %.3f mm", i+1, 2*r)); err != nil {
			return o, err
		}
		var on []geom.Vec
		if sp[i], q[i], on, err = s.sphereAt(ctx, start); err != nil {
			return o, err
		}
		if err := seen(sp[i], on); err != nil {
			return o, fmt.Errorf("sphere %d: %w", i+1, err)
		}
		p, d := kept(q[i].Feet, q[i].Distances, q[i].RMS)
		pts, dist = append(pts, p...), append(dist, d...)
		first := sp[i]
		without = func(p geom.Vec) bool { return first.Distance(p) < findTol(first.Radius) }
	}
	// which is which, where the sizes are near each other, the sizes found tell
	if math.Abs(2*sp[0].Radius-b.Diameters[0].MM)+math.Abs(2*sp[1].Radius-b.Diameters[1].MM) >
		math.Abs(2*sp[1].Radius-b.Diameters[0].MM)+math.Abs(2*sp[0].Radius-b.Diameters[1].MM) {
		sp[0], sp[1], q[0], q[1] = sp[1], sp[0], q[1], q[0]
	}
	line := sp[1].Center.Sub(sp[0].Center)
	err = errors.Join(sized("first sphere's diameter", 2*sp[0].Radius, b.Diameters[0].MM), sized("second sphere's diameter", 2*sp[1].Radius, b.Diameters[1].MM),
		sized("distance of the spheres", line.Norm(), b.Distance.MM))
	if err != nil {
		return o, err
	}
	o.points = q[0].Points + q[1].Points
	o.noise, o.form = spread(pts, dist)
	for i := range sp {
		d := b.Diameters[i]
		o.indications = append(o.indications, indication{fmt.Sprintf("diameter %d", i+1), "mm", 2 * sp[i].Radius, 2 * q[i].Standard(3), d.MM, d.standard(), d.MM})
	}
	u := math.Hypot(along(&q[0], line.Unit()), along(&q[1], line.Unit()))
	o.indications = append(o.indications, indication{"distance", "mm", line.Norm(), u, b.Distance.MM, b.Distance.standard(), b.Distance.MM})
	return o, nil
}

// along is the standard uncertainty of a sphere's middle along a direction.
func along(q *fit.Quality, a geom.Vec) float64 {
	x := [3]float64{a.X, a.Y, a.Z}
	one, two := 0.0, 0.0
	for i := range x {
		for j := range x {
			one += x[i] * x[j] * q.Covariance.At(i, j)
			two += x[i] * x[j] * q.Clustered.At(i, j)
		}
	}
	return math.Sqrt(math.Max(one, two))
}

// turnSeen is the part of the circle, degrees, in which there are points.
func turnSeen(pts []geom.Vec, at, axis geom.Vec) float64 {
	e1 := axis.Normal()
	e2 := axis.Cross(e1)
	var has [72]int
	for _, p := range pts {
		x := p.Sub(at)
		a := math.Atan2(x.Dot(e2), x.Dot(e1)) / (2 * math.Pi)
		has[min(71, int((a-math.Floor(a))*72))]++
	}
	n := 0
	for _, k := range has {
		if k > len(pts)/720 {
			n++
		}
	}
	return float64(n) * 5
}

func turnEnough(what string, pts []geom.Vec, at, axis geom.Vec) error {
	if a := turnSeen(pts, at, axis); a < leastTurn {
		return &absentError{fmt.Sprintf("only %.0f degrees of the %s's circle are seen, which do not hold its diameter: scan it from more sides, %.0f degrees or more", a, what, leastTurn)}
	}
	return nil
}

func observeCylinder(ctx context.Context, b *Body, s *scan) (o observed, err error) {
	r := b.Diameter.MM / 2
	start, votes := s.findCylinder(r)
	if err := s.absentUnless(votes, fmt.Sprintf("cylinder of %.3f mm", 2*r)); err != nil {
		return o, err
	}
	c, q, pts, err := settled(ctx, s, start, findTol(r), func(p []geom.Vec, at fit.Cylinder) (fit.Cylinder, fit.Quality, error) {
		return fit.FitCylinder(p, &at, fitOptions)
	})
	if err != nil {
		return o, err
	}
	if err := errors.Join(sized("cylinder's diameter", 2*c.Radius, 2*r), turnEnough("cylinder", pts, c.At, c.Axis)); err != nil {
		return o, err
	}
	o.points = q.Points
	o.noise, o.form = spread(kept(q.Feet, q.Distances, q.RMS))
	o.indications = []indication{{"diameter", "mm", 2 * c.Radius, 2 * q.Standard(4), b.Diameter.MM, b.Diameter.standard(), b.Diameter.MM}}
	return o, nil
}
