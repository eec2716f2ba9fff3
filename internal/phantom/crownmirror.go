package phantom

import (
	"context"
	"math"
	"slices"

	"crownassay/internal/par"
)

// fullArch is the number of teeth from which an arch is whole.
const fullArch = 14

// mirrored fills the robust maximum of how far the outer surface reaches beyond
// the tooth of the other side. The arch is symmetric by its formula, so that
// tooth, mirrored, stands in the frame of this one.
func (f *findings) mirrored(ctx context.Context) error {
	var other *tooth
	for _, t := range f.m.prepared.teeth {
		if t.slot == -f.m.target.slot {
			other = t
		}
	}
	if len(f.m.prepared.teeth) < fullArch || other == nil {
		return nil
	}
	c := *other
	c.frame = f.m.target.frame
	t := newTarget([]*tooth{&c})
	probes, _, err := sampled(ctx, f.out, 2*surfaceTurns, 2*surfaceSteps)
	if err != nil {
		return err
	}
	for i := range probes {
		p := &probes[i]
		p.p = f.m.target.frame.toArch(p.p)
		p.d = t.about(p.p)
	}
	slices.SortStableFunc(probes, func(a, b probe) int { return compare(b.d, a.d) })
	known, err := t.farthest(ctx, probes)
	if err != nil {
		return err
	}
	slices.SortStableFunc(known, func(a, b probe) int { return compare(a.d, b.d) })
	d, p := robustMin(known, func(int) bool { return true })
	f.t.Readings[f.prefix+"contour.against_mirror"] = -d
	f.t.Places[f.prefix+"contour.against_mirror"] = triple(f.m.pose.Apply(p))
	return nil
}

// mirrorArea is how much of the surface, mm^2, is made exact, from the farthest
// on by the level: twenty times what the robust extreme leaves out.
const mirrorArea = 20 * robustArea

// farthest makes the first of the sorted probes exact, with the distance
// negative, and leaves out those whose nearest point is hidden by gingiva.
func (t *target) farthest(ctx context.Context, sorted []probe) ([]probe, error) {
	const chunk = 512
	var out []probe
	area := 0.0
	for i := 0; i < len(sorted) && area < mirrorArea; i += chunk {
		part := sorted[i:min(len(sorted), i+chunk)]
		ok := make([]bool, len(part))
		err := par.Do(ctx, len(part), 16, func(lo, hi int) {
			for i := lo; i < hi; i++ {
				ok[i] = t.beside(&part[i])
			}
		})
		if err != nil {
			return nil, err
		}
		for i, p := range part {
			if ok[i] {
				p.d = -p.d
				area += p.area
				out = append(out, p)
			}
		}
	}
	return out, nil
}

// beside makes a probe's signed distance exact; false where its nearest point
// is the edge of the gingiva, which hides what lies below.
func (t *target) beside(p *probe) bool {
	i, _ := t.coarse(p.p)
	at, d := t.fine(p.p, i)
	p.d = math.Copysign(d, p.d)
	n := t.teeth[0].sheet.(*natural)
	q := t.teeth[0].frame.toTooth(at)
	low, _ := n.lookup(math.Atan2(q.Y, q.X), 1)
	return math.Atan2(q.Z-n.centre, math.Hypot(q.X, q.Y)) > low+1e-3
}
