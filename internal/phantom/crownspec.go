package phantom

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
	Bites     []Bite  `json:"bites,omitempty"`    // contacts with the opposing teeth; default one of -0.01 wherever they meet first
	Fossa     float64 `json:"fossa,omitempty"`    // wanted occlusal thickness in the middle; 0 as it comes
	Hills     []Hill  `json:"hills,omitempty"`    // changes of the outer surface
	Under     []Under `json:"under,omitempty"`    // fillings of the space under a neighbour's bulge
	Tight     []Hill  `json:"tight,omitempty"`    // changes of the cement space; negative rises press on the preparation
	Tool      float64 `json:"tool"`               // tip radius of the tool that cuts the cavity; default 0.3, the finest in common use
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

// Bite is a contact with the opposing teeth: that of the crown's outer half
// within Around degrees about an azimuth, 0 for the whole chewing surface.
type Bite struct {
	Touch
	Azimuth float64 `json:"azimuth,omitempty"`
	Around  float64 `json:"around,omitempty"`
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

// Under fills the space under the bulge of the neighbour at the azimuth until
// the distance to it, seated, is Distance.
type Under struct {
	Azimuth  float64 `json:"azimuth"`
	Distance float64 `json:"distance"`
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
	Overhang Round  `json:"overhang"` // at the new finish line
	Step     Round  `json:"step"`     // height of its margin above the new finish line
	Hills    []Hill `json:"hills,omitempty"`
	Own      bool   `json:"own"` // in a frame of its own
}
