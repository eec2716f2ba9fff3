package assay

import (
	"context"
	"errors"
	"fmt"
	"math"

	"crownassay/align"
	"crownassay/bvh"
	"crownassay/finishline"
	"crownassay/measure"
	"crownassay/mesh"
)

// How surfaces of other sessions are registered. Lengths mm.
const (
	madeNear   = 0.2  // a milled crown is this near to its design, errors of milling and of its scan included
	madeWithin = 0.01 // in the design's frame already, if the best motion moves it by no more
	neighbours = 1.0  // the prepared arch counts from this far outside the finish line, in plan
)

// register brings a surface into the frame of a fixed one. An error names the
// file and says why it could not be.
func (l *loaded) register(ctx context.Context, fixed *bvh.Tree, o align.Options) error {
	r, err := align.RegisterTo(ctx, l.mesh, fixed, o)
	if err != nil {
		return fmt.Errorf("register %s %s: %w", l.source.Role, l.source.Path, err)
	}
	l.registration = r.Spread()
	if r.Stop == align.InFrame {
		return nil
	}
	l.mesh = l.mesh.Move(r.Motion)
	l.notes = append(l.notes, fmt.Sprintf("%s: lay in another frame and was registered, moved by %.3f mm in the mean; residual %.1f um over %.0f %% of the surface",
		l.source.File, r.Moves, 1000*r.RMS, 100*r.Overlap))
	return nil
}

// earlier registers the surface from before on the unprepared neighbours. When
// it cannot be, the surface is left out and the reason is returned.
func earlier(ctx context.Context, ls map[Role]*loaded, s *site) (out *measure.Surface, why string, err error) {
	l := ls[Before]
	if l == nil {
		return nil, "", nil
	}
	p := s.surface
	err = l.register(ctx, p.Tree, align.Options{FixedWeight: besideWeights(p.Mesh, s.found)})
	var no *align.RefusedError
	if errors.As(err, &no) {
		return nil, "the surface from before could not be registered on the neighbouring teeth: " + no.Error(), nil
	}
	if err != nil {
		return nil, "", err
	}
	return l.surface(), "", nil
}

// besideWeights leave the preparation and its surroundings out of the arch.
func besideWeights(m *mesh.Mesh, f *finishline.Found) []float64 {
	weight := make([]float64, len(m.V))
	for i, v := range m.V {
		a, r, _ := f.Frame.Cylinder(v)
		if k := int(math.Round(a)) % len(f.Line.R); r > f.Line.R[k]+neighbours {
			weight[i] = 1
		}
	}
	return weight
}
