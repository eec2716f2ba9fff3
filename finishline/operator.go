package finishline

import (
	"context"
	"errors"
	"fmt"
	"math"

	"crownassay/align"
	"crownassay/geom"
)

// snapWithin is how far, mm, an operator's line may lie from the surface: a
// line farther away belongs to another scan.
const snapWithin = 1.0

// widestStep is the longest straight piece, mm, of an operator's line: over a
// longer one the line leaves a round tooth by a millimetre, and a line drawn
// around part of the tooth would close across it.
const widestStep = 6.0

// FromLine measures with an operator's closed polyline in place of a traced
// one. Its points are snapped to the surface and the line is read at every
// degree of azimuth.
func FromLine(ctx context.Context, s Scan, up geom.Vec, pts []geom.Vec) (*Found, error) {
	snapped, err := snap(s, pts)
	if err != nil {
		return nil, err
	}
	var mid geom.Vec
	for _, p := range snapped {
		mid = mid.Add(p.Mul(1 / float64(len(snapped))))
	}
	frame := align.NewFrame(mid, up, up.Normal(), 1)
	var f *Found
	for pass := range passes {
		if f, err = onLine(ctx, s, frame, snapped); err != nil {
			return nil, err
		}
		next := f.next()
		if pass == passes-1 || next.Z.Dot(frame.Z) > math.Cos(settled*math.Pi/180) {
			break
		}
		frame = next
	}
	return f, nil
}

// AlongLine is Along for an operator's line.
func AlongLine(ctx context.Context, s Scan, f *Found, mesial geom.Vec, hand float64, pts []geom.Vec) (*Found, error) {
	snapped, err := snap(s, pts)
	if err != nil {
		return nil, err
	}
	return onLine(ctx, s, align.NewFrame(f.Frame.Origin, f.Frame.Z, mesial, hand), snapped)
}

// errNoWalls refuses a line that runs around something else.
var errNoWalls = errors.New("no axial wall rises inside the finish line given: trace it around the preparation, along the edge where the prepared surface ends")

// snap moves points to the nearest point of the surface. A point too far from it
// and a line with a piece too long are errors.
func snap(s Scan, pts []geom.Vec) ([]geom.Vec, error) {
	out := make([]geom.Vec, len(pts))
	for i, p := range pts {
		h, ok := s.Tree.Closest(p, snapWithin)
		if !ok {
			return nil, fmt.Errorf("point %d of the finish line lies more than %.1f mm from the prepared surface: trace it on this scan, in the same unit", i+1, snapWithin)
		}
		out[i] = h.Point
	}
	for i := range out {
		if d := out[i].Dist(out[(i+1)%len(out)]); d > widestStep {
			return nil, fmt.Errorf("the finish line given leaves out %.1f mm after point %d: give its points all around the preparation, no more than %.0f mm apart", d, i+1, widestStep)
		}
	}
	return out, nil
}

// onLine cuts about a frame and reads the polyline per degree.
func onLine(ctx context.Context, s Scan, frame align.Frame, pts []geom.Vec) (*Found, error) {
	profiles, err := Cut(ctx, s, frame, Reach)
	if err != nil {
		return nil, err
	}
	return alongLine(s, frame, profiles, pts)
}

// read fills R and Z at each degree from the polyline's segments.
func (c *Curve) read(f align.Frame, pts []geom.Vec) error {
	turned := 0.0
	for i := range pts {
		a0, r0, z0 := f.Cylinder(pts[i])
		a1, r1, z1 := f.Cylinder(pts[(i+1)%len(pts)])
		d := math.Mod(a1-a0+540, 360) - 180
		turned += d
		lo, hi := math.Min(a0, a0+d), math.Max(a0, a0+d)
		for k := math.Ceil(lo); k <= hi; k++ {
			t := 0.0
			if d != 0 {
				t = (k - a0) / d
			}
			j := (int(k)%Sections + Sections) % Sections
			c.R[j], c.Z[j], c.Seen[j] = r0+t*(r1-r0), z0+t*(z1-z0), true
		}
	}
	if math.Abs(math.Abs(turned)-360) > 1 {
		return fmt.Errorf("the finish line given does not run once around the tooth (it turns by %.0f degrees): give its points in order around the preparation", turned)
	}
	return nil
}

// settle puts the line at azimuth k on the profile, or on the edge that the
// profile shows there.
func (c *Curve) settle(p *Profile, k int, w window, s Scan) {
	i := p.Nearest(c.R[k], c.Z[k])
	if i < 0 || p.Gap[i] {
		return
	}
	given := point{c.R[k], c.Z[k]}
	turn, at := p.sharpestNear(i, w)
	to := p.onto(i, given)
	edge := p.corner(candidate{i: at, p: point{p.R[at], p.Z[at]}, turn: turn}, w, s)
	if turn >= legibleTurn && edge.dist(given) <= s.CutOff() {
		to = edge
	}
	c.R[k], c.Z[k] = to.r, to.z
}

// onto returns the point of the profile nearest to q, on the pieces beside
// sample i.
func (p *Profile) onto(i int, q point) point {
	best := point{p.R[i], p.Z[i]}
	for _, j := range []int{i - 1, i + 1} {
		if j < 0 || j >= p.Len() {
			continue
		}
		x, z := p.R[j]-p.R[i], p.Z[j]-p.Z[i]
		t := ((q.r-p.R[i])*x + (q.z-p.Z[i])*z) / (x*x + z*z)
		if at := (point{p.R[i] + t*x, p.Z[i] + t*z}); t > 0 && t < 1 && at.dist(q) < best.dist(q) {
			best = at
		}
	}
	return best
}
