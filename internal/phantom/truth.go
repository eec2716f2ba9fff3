package phantom

import "crownassay/geom"

// Truth is what the measuring code must find, in the coordinates of the
// written files before any wrong unit: lengths mm, angles degrees.
type Truth struct {
	Tooth        string     `json:"tooth"`
	Origin       [3]float64 `json:"origin"`       // centroid of the finish line by length
	Placement    [3]float64 `json:"placement"`    // axis by its definition
	Construction [3]float64 `json:"construction"` // axis of the profile formulae
	Mesial       [3]float64 `json:"mesial"`       // square to the placement axis
	Buccal       [3]float64 `json:"buccal"`
	Free         bool       `json:"free"` // some direction is free of undercut

	FinishLine [][3]float64   `json:"finish_line"` // 1440 points, evenly in the formula's azimuth
	Sections   []SectionTruth `json:"sections"`    // 360, one a degree about the placement axis

	// Readings holds every value by the id of its reading.
	Readings map[string]float64 `json:"readings"`
	// Zones holds the clearance per zone.
	Zones map[string]float64 `json:"clearance_zones"`
	// Places holds where an extreme lies, by the id of its reading.
	Places map[string][3]float64 `json:"places"`
	// BiteOverlap is the most that the arches go into each other, mm.
	BiteOverlap float64 `json:"bite_overlap_at_most"`
	// Illegible lists the arcs of the finish line that are smeared or missing.
	Illegible []ArcTruth `json:"illegible,omitempty"`
	// Holes lists the holes cut out of the prepared surface.
	Holes []HoleTruth `json:"holes,omitempty"`
	// Crown holds what is known of the crown beside its readings.
	Crown *CrownTruth `json:"crown,omitempty"`
	// Finished holds the same for the milled copy.
	Finished *CrownTruth `json:"finished,omitempty"`
	// Existing holds the same for the old restoration, as far as it goes.
	Existing *CrownTruth `json:"existing,omitempty"`
}

// SectionTruth is one half plane about the placement axis. Inclinations are
// positive for a wall that tapers to the occlusal.
type SectionTruth struct {
	Azimuth     float64    `json:"azimuth"`
	Finish      [3]float64 `json:"finish"`
	Inner       [3]float64 `json:"inner"` // inner end of the finish line, 45 degrees
	Line        [3]float64 `json:"line"`  // occlusoaxial line angle, 45 degrees
	Inclination float64    `json:"inclination"`
	Width       float64    `json:"width"`
	Height      float64    `json:"height"`
	Undercut    float64    `json:"undercut"` // depth, 0 for none
}

// ArcTruth is a part of the circumference, degrees about the placement axis.
type ArcTruth struct {
	Azimuth float64 `json:"azimuth"`
	Extent  float64 `json:"extent"`
	Kind    string  `json:"kind"`
}

// HoleTruth is one hole: middle and area of what was removed.
type HoleTruth struct {
	Center [3]float64 `json:"center"`
	Area   float64    `json:"area"`
}

func triple(v geom.Vec) [3]float64 { return [3]float64{v.X, v.Y, v.Z} }
