package assay

import (
	"context"
	"errors"
	"fmt"

	"crownassay/align"
	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/measure"
)

// site is the preparation as found, with how it was found.
type site struct {
	surface *measure.Surface
	scan    finishline.Scan
	found   *finishline.Found
	noise   float64 // NaN when it cannot be told
	mesial  bool
	notes   []string
}

// find locates the preparation on the prepared surface.
func find(ctx context.Context, c *Case, ls map[Role]*loaded) (*site, error) {
	l := ls[Prepared]
	s, err := findOn(ctx, c, l)
	var none *finishline.NotFoundError
	if !errors.As(err, &none) {
		return s, err
	}
	if hint := misplaced(ctx, ls); hint != "" {
		none.Hint = hint
	}
	return nil, fmt.Errorf("look for the preparation in %s: %w", l.source.Path, none)
}

// findOn looks on the surface as it is, then turned inside out.
func findOn(ctx context.Context, c *Case, l *loaded) (*site, error) {
	s, err := seekOn(ctx, c, l)
	var none *finishline.NotFoundError
	if errors.As(err, &none) && len(c.FinishLine) == 0 && !none.Several {
		turned := *l
		note := turned.invert()
		if t, err2 := seekOn(ctx, c, &turned); err2 == nil {
			l.mesh = turned.mesh
			t.notes = append(t.notes, note)
			return t, nil
		}
	}
	return s, err
}

// seekOn traces the preparation for each direction that may be the occlusal
// one; the first that shows one is taken.
func seekOn(ctx context.Context, c *Case, l *loaded) (*site, error) {
	s := &site{surface: measure.NewSurface(l.mesh)}
	s.scan = finishline.Scan{Tree: s.surface.Tree, Spacing: measure.MedianEdge(l.mesh), Borders: s.surface.BorderPoints()}
	var err error
	for _, up := range align.Occlusals(l.mesh) {
		if err = s.trace(ctx, c, up); err == nil {
			return s, s.settle(ctx, c, l)
		}
		var none *finishline.NotFoundError
		if !errors.As(err, &none) {
			return nil, err
		}
	}
	return nil, err
}

func (s *site) trace(ctx context.Context, c *Case, up geom.Vec) (err error) {
	if len(c.FinishLine) > 0 {
		s.found, err = finishline.FromLine(ctx, s.scan, up, c.FinishLine)
		return err
	}
	s.found, err = finishline.Locate(ctx, s.scan, up, c.At)
	return err
}

// settle measures the scan where the preparation is, finds mesial, and traces
// once more with both known.
func (s *site) settle(ctx context.Context, c *Case, l *loaded) error {
	if h, ok := measure.Spacing(l.mesh, s.found); ok {
		s.scan.Spacing = h
	}
	s.noise = measure.Noise(s.surface, s.found)
	if s.noise == s.noise {
		s.scan.Noise = s.noise
	}
	if len(c.FinishLine) == 0 {
		f, why, err := finishline.Refine(ctx, s.scan, s.found.Frame)
		if err != nil {
			return err
		}
		if f == nil {
			return &finishline.NotFoundError{What: "no preparation was found (" + why + ")", Hint: "check that the file is the prepared arch"}
		}
		s.found = f
	}
	return s.orient(ctx, c, l)
}

// orient finds the mesial direction and cuts anew about it.
func (s *site) orient(ctx context.Context, c *Case, l *loaded) error {
	arch := align.FindArch(l.mesh, s.found.Frame)
	hand := c.Tooth.Handedness()
	z := s.found.Frame.Z
	mesial := s.found.Frame.X
	switch {
	case c.Mesial != nil:
		mesial, s.mesial = *c.Mesial, true
		if err := contradicts(c, arch, mesial, z); err != nil {
			return err
		}
	case arch.Known:
		mesial, s.mesial = arch.Lingual.Neg().Cross(z).Mul(hand), true
	default:
		s.notes = append(s.notes, "the mesial direction is not known ("+arch.Why+"): give it as mesial: [x, y, z] in "+CaseFile+"; azimuth 0 is arbitrary until then")
	}
	var err error
	if len(c.FinishLine) > 0 {
		s.found, err = finishline.AlongLine(ctx, s.scan, s.found, mesial, hand, c.FinishLine)
	} else {
		s.found, err = finishline.Along(ctx, s.scan, s.found, mesial, hand)
	}
	return err
}

// against is how far, as a cosine, the buccal direction may turn to the inner
// side of the arch before tooth number and mesial direction contradict it.
const against = -0.5

// contradicts refuses a mesial direction that would put buccal on the inner
// side of the arch.
func contradicts(c *Case, arch align.Arch, mesial, z geom.Vec) error {
	m := mesial.Reject(z)
	if m.Norm() < 0.3*mesial.Norm() {
		return fmt.Errorf("check case %s: the direction given as mesial runs along the tooth, not along the arch; give the direction toward the midline", c.Path)
	}
	if !arch.Known {
		return nil
	}
	buccal := c.Tooth.Buccal(z, m.Unit())
	if buccal.Dot(arch.Lingual.Neg()) < against {
		return fmt.Errorf("check case %s: for tooth %s with this mesial direction, buccal would be on the inner side of the arch; check the tooth number and mesial", c.Path, c.Tooth.ISO())
	}
	return nil
}

// misplaced says where the preparation is when it is not on the prepared
// surface, or why the prepared surface cannot be one.
func misplaced(ctx context.Context, ls map[Role]*loaded) string {
	if o := ls[Opposing]; o != nil {
		if _, err := seekOn(ctx, &Case{}, &loaded{source: o.source, mesh: o.mesh}); err == nil {
			return fmt.Sprintf("%s, given as opposing, shows a preparation: the two surfaces are swapped in %s", o.source.File, CaseFile)
		}
	}
	if looksLikeCrown(ls[Prepared].mesh) {
		return "the file is a small closed shell, as a crown is: give the scan of the prepared arch"
	}
	return ""
}
