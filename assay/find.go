package assay

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"crownassay/align"
	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/measure"
	"crownassay/mesh"
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
	l.dropRepeated()
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

// dropRepeated leaves out facets that are there more than once: at their
// edges no section could be followed.
func (l *loaded) dropRepeated() {
	again := mesh.Repeated(l.mesh, l.adjacency())
	if !slices.Contains(again, true) {
		return
	}
	keep := make([][3]int32, 0, len(l.mesh.F))
	for f, t := range l.mesh.F {
		if !again[f] {
			keep = append(keep, t)
		}
	}
	n := len(l.mesh.F) - len(keep)
	l.mesh, l.adj = &mesh.Mesh{V: l.mesh.V, F: keep}, nil
	l.notes = append(l.notes, fmt.Sprintf("%s: %d facets were there more than once and were left out", l.source.File, n))
}

// findOn looks on the surface as it is, then turned inside out.
func findOn(ctx context.Context, c *Case, l *loaded) (*site, error) {
	s, err := seekOn(ctx, c, l)
	var none *finishline.NotFoundError
	if errors.As(err, &none) && len(c.FinishLine) == 0 && !none.Several {
		turned := *l
		note := turned.invert()
		if t, err2 := seekOn(ctx, c, &turned); err2 == nil {
			l.mesh, l.adj = turned.mesh, turned.adj
			t.notes = append(t.notes, note)
			return t, nil
		}
	}
	return s, err
}

// seekOn traces the preparation for each direction that may be the occlusal
// one; the first that shows one is taken.
func seekOn(ctx context.Context, c *Case, l *loaded) (*site, error) {
	s := &site{surface: l.surface()}
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
		s.scan.LongEdge = measure.LongEdge(l.mesh, s.found)
	}
	s.noise = measure.Noise(s.surface, s.found)
	if s.noise == s.noise {
		s.scan.Noise = s.noise
	}
	s.scan.Normals = s.surface.Normals()
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

// orient finds the mesial and buccal directions and cuts anew about them.
// What the arch itself shows goes before the rule of the tooth number: the
// inner side of the arch is lingual, its front is mesial.
func (s *site) orient(ctx context.Context, c *Case, l *loaded) error {
	z := s.found.Frame.Z
	arch := align.FindArch(l.mesh, s.found.Frame)
	mesial, hand := s.found.Frame.X, c.Tooth.Handedness()
	switch {
	case c.Mesial != nil:
		m := c.Mesial.Reject(z)
		if m.Norm() < leastAcross {
			return fmt.Errorf("check case %s: the direction given as mesial runs along the tooth, not along the arch; give the direction toward the front of the arch", c.Path)
		}
		mesial, s.mesial = m.Unit(), true
	case arch.Known && arch.FrontKnown:
		mesial, s.mesial = arch.Front, true
	case arch.Known && c.Tooth.Position >= lastTeeth && arch.Only.NormSq() > 0:
		mesial, s.mesial = arch.Only, true
	case arch.Known:
		mesial, s.mesial = arch.Lingual.Neg().Cross(z).Mul(hand), true
	default:
		s.notes = append(s.notes, "the mesial direction is not known ("+arch.Why+"): give it as mesial: [x, y, z] in "+CaseFile+"; azimuth 0 is arbitrary until then")
	}
	if s.mesial && arch.Known {
		hand = s.hand(c, arch, mesial, hand)
	}
	var err error
	if len(c.FinishLine) > 0 {
		s.found, err = finishline.AlongLine(ctx, s.scan, s.found, mesial, hand, c.FinishLine)
	} else {
		s.found, err = finishline.Along(ctx, s.scan, s.found, mesial, hand)
	}
	return err
}

// lastTeeth is the position from which a tooth with a neighbour on one side
// only has it on the mesial side.
const lastTeeth = 7

// leastAcross is the sine of the angle that a given mesial direction must
// make with the placement axis.
const leastAcross = 0.3

// hand returns the handedness of the tooth's frame with buccal on the outer
// side of the arch. Where that is not what the tooth number gives, the case
// says so: the number may be wrong.
func (s *site) hand(c *Case, arch align.Arch, mesial geom.Vec, rule float64) float64 {
	z := s.found.Frame.Z
	out := arch.Lingual.Neg().Dot(z.Cross(mesial))
	if math.Abs(out) < leastOutward || out*rule > 0 {
		return rule
	}
	s.notes = append(s.notes, fmt.Sprintf("the arch curves as that of the other side than tooth %s: buccal was taken on its outer side; check the tooth number%s", c.Tooth.ISO(), alsoMesial(c)))
	return -rule
}

// leastOutward is the cosine from which the outer side of the arch is plainly
// on one side of the mesial direction.
const leastOutward = 0.5

func alsoMesial(c *Case) string {
	if c.Mesial == nil {
		return ""
	}
	return " and mesial"
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
