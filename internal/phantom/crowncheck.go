package phantom

import "fmt"

// complete fills the zero fields.
func (c Crown) complete() (*Crown, error) {
	if c.Triangles <= 0 {
		c.Triangles = 100000
	}
	for _, f := range []struct {
		v     *float64
		usual float64
	}{{&c.Wall, 0.06}, {&c.Occlusal, 0.09}, {&c.Seal, 0.35}, {&c.Gap.Base, 0.03}, {&c.Tool, 0.3}} {
		if *f.v == 0 {
			*f.v = f.usual
		}
	}
	if c.Mesial == nil {
		c.Mesial = &Touch{-0.015, 2.2}
	}
	if c.Distal == nil {
		c.Distal = &Touch{-0.015, 2.2}
	}
	if c.Finished != nil {
		c.Finished = c.Finished.complete()
	}
	if c.Before != nil {
		o := *c.Before
		c.Before = &o
	}
	if c.Bites == nil {
		c.Bites = []Bite{{Touch: Touch{-0.01, 9}}}
	}
	return &c, c.check()
}

// What the error of a milled copy usually is, mm.
const (
	usualMadeError = 0.02
	usualMadeWave  = 2.5
)

func (m Made) complete() *Made {
	if m.Error == 0 {
		m.Error = usualMadeError
	}
	if m.Wave == 0 {
		m.Wave = usualMadeWave
	}
	return &m
}

// The cement space and the overhang must leave a crown: an offset stays well
// under the radius of the chamfer, an overhang inside the sulcus or short of
// the wall.
const (
	mostSpace    = 0.3
	mostOverhang = 0.8
)

func (c *Crown) check() error {
	for _, f := range []struct {
		what      string
		v, lo, hi float64
	}{
		{"cement space over the walls", c.Wall, 0, mostSpace}, {"cement space above the line angle", c.Occlusal, 0, mostSpace},
		{"seal", c.Seal, 0.05, 1}, {"edge", c.Edge, 0, 0.3}, {"tool", c.Tool, 0.1, 2},
		{"cavity's line angle", c.Cavity, 0, 1}, {"occlusal thickness", c.Fossa, 0, 1.5},
	} {
		if !(f.v >= f.lo && f.v <= f.hi) {
			return fmt.Errorf("invent crown: %s %g mm; give %g to %g", f.what, f.v, f.lo, f.hi)
		}
	}
	if err := c.Gap.check("marginal gap", 0, mostSpace); err != nil {
		return err
	}
	if err := c.Overhang.check("overhang", -0.25, mostOverhang); err != nil {
		return err
	}
	if o := c.Before; o != nil {
		if err := o.Overhang.check("old overhang", -0.25, mostOverhang); err != nil {
			return err
		}
		if err := o.Step.check("height of the old margin", -0.3, 0.5); err != nil {
			return err
		}
	}
	return c.checkFile()
}

// checkFile looks at what is made of the shell.
func (c *Crown) checkFile() error {
	if m := c.Finished; m != nil && !(m.Error >= 0 && m.Error <= 0.1 && m.Wave >= 0.5 && m.Wave <= 20) {
		return fmt.Errorf("invent crown: milling error %g mm with waves of %g mm; give 0 to 0.1 and 0.5 to 20", m.Error, m.Wave)
	}
	switch c.Shell {
	case "", ShellInverted, ShellOpen, ShellSolid, ShellUpside, ShellAway, ShellSeveral, ShellCrossing, ShellOther:
		return nil
	}
	return fmt.Errorf("invent crown: unknown shell %q", c.Shell)
}

func (r Round) check(what string, lo, hi float64) error {
	values := []float64{r.Base}
	for _, a := range r.Arcs {
		values = append(values, a.Value)
	}
	for _, v := range values {
		if !(v >= lo && v <= hi) {
			return fmt.Errorf("invent crown: %s %g mm; give %g to %g", what, v, lo, hi)
		}
	}
	return nil
}

// band turns a Round into its formula.
func (r Round) band() *band {
	b := &band{base: even(r.Base)}
	for _, a := range r.Arcs {
		b.arcs = append(b.arcs, arc{a.Azimuth * degree, a.Extent * degree, a.Value})
	}
	return b
}
