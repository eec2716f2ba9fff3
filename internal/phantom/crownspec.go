package phantom

import "fmt"

// Crown says what crown to invent for the preparation. Zero fields are
// defaults; lengths in mm, angles in degrees.
type Crown struct {
	Triangles int     `json:"triangles"`          // of the shell, about; default 100000
	Wall      float64 `json:"wall"`               // cement space over the axial walls; default 0.06
	Occlusal  float64 `json:"occlusal"`           // the same above the line angle; default 0.09
	Seal      float64 `json:"seal"`               // the marginal gap reaches so far up from the finish line; default 0.35
	Gap       Round   `json:"gap"`                // marginal gap; default 0.03
	Overhang  Round   `json:"overhang"`           // reach beyond the finish line square to the profile's axis; default 0
	Edge      float64 `json:"edge,omitempty"`     // width of a bevel between intaglio and cameo surface; 0 for a plain edge
	Cavity    float64 `json:"cavity,omitempty"`   // radius of the cavity's line angle; 0 follows the preparation
	Mesial    *Touch  `json:"mesial,omitempty"`   // contact with the neighbour; nil for -0.015, 2.2 wide
	Distal    *Touch  `json:"distal,omitempty"`   // the same behind
	Bite      *Touch  `json:"bite,omitempty"`     // lightest distance to the opposing teeth; nil as the natural crown meets them
	Hills     []Hill  `json:"hills,omitempty"`    // changes of the outer surface
	Tight     []Hill  `json:"tight,omitempty"`    // changes of the cement space; negative rises press on the preparation
	Tool      float64 `json:"tool"`               // tip radius of the tool that cuts the cavity; default 0.5
	Shell     string  `json:"shell,omitempty"`    // what is wrong with the file; one of the shell kinds, "" for nothing
	Finished  *Made   `json:"finished,omitempty"` // the milled copy; nil for none
	Before    *Old    `json:"before,omitempty"`   // the old restoration; nil for none
	Seated    bool    `json:"seated,omitempty"`   // a scan of the arch with the crown on
}

// Round is a value round the tooth: Base, blended to another one over arcs.
type Round struct {
	Base float64 `json:"base"`
	Arcs []Arc   `json:"arcs,omitempty"`
}

// Arc is one stretch of a Round.
type Arc struct {
	Azimuth float64 `json:"azimuth"`
	Extent  float64 `json:"extent"`
	Value   float64 `json:"value"`
}

// Touch is a wanted smallest signed distance, reached by a hill or a hollow of
// the given half width.
type Touch struct {
	Distance float64 `json:"distance"`
	Half     float64 `json:"half"`
}

// Hill is a local change along the ray from the middle of the crown: its
// azimuth, the height of its middle as a share of the crown's length, its half
// width and its rise (negative for a hollow). A height of 1 or more stands for
// the middle of the chewing surface.
type Hill struct {
	Azimuth float64 `json:"azimuth"`
	Height  float64 `json:"height"`
	Half    float64 `json:"half"`
	Rise    float64 `json:"rise"`
}

// Made is how a milled copy differs from its design.
type Made struct {
	Error float64 `json:"error"` // amplitude of the error along the normal; default 0.02
	Wave  float64 `json:"wave"`  // its wave length; default 2.5
	Own   bool    `json:"own"`   // in a frame of its own
}

// Old is a restoration that was there before the preparation, seen in a scan of
// the whole arch.
type Old struct {
	Overhang Round  `json:"overhang"` // at the new finish line; default 0.05
	Step     Round  `json:"step"`     // height of its margin above the new finish line; default 0.05
	Hills    []Hill `json:"hills,omitempty"`
	Own      bool   `json:"own"` // in a frame of its own
}

// complete fills the zero fields.
func (c Crown) complete() (*Crown, error) {
	if c.Triangles <= 0 {
		c.Triangles = 100000
	}
	for _, f := range []struct {
		v     *float64
		usual float64
	}{{&c.Wall, 0.06}, {&c.Occlusal, 0.09}, {&c.Seal, 0.35}, {&c.Gap.Base, 0.03}, {&c.Tool, 0.5}} {
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
	return &c, c.check()
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
	} {
		if !(f.v >= f.lo && f.v <= f.hi) {
			return fmt.Errorf("invent crown: %s %g mm; give %g to %g", f.what, f.v, f.lo, f.hi)
		}
	}
	if err := c.Gap.check("marginal gap", 0, mostSpace); err != nil {
		return err
	}
	return c.Overhang.check("overhang", -0.25, mostOverhang)
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
