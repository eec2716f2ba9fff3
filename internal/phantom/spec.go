package phantom

import (
	"fmt"
	"strconv"
)

// Spec says what case to invent. Zero fields are defaults.
type Spec struct {
	Name       string   `json:"name,omitempty"`
	Title      string   `json:"title,omitempty"`
	Story      string   `json:"story,omitempty"`
	Tooth      string   `json:"tooth"`          // ISO 3950, positions 1 to 7; default 46
	Material   string   `json:"material"`       // default zirconia-3y
	Seed       uint64   `json:"seed"`           // shapes, jitter, noise, pose
	Triangles  int      `json:"triangles"`      // of each mesh, about; default 200000
	Tall       float64  `json:"tall,omitempty"` // added to the crown lengths of the prepared arch, mm
	Edge       float64  `json:"edge,omitempty"` // wanted edge length, mm, instead of Triangles (0.5: coarse)
	Noise      float64  `json:"noise"`          // standard deviation along the normal, mm
	Correlated bool     `json:"correlated"`     // noise is smooth over 0.2 mm
	RandomPose bool     `json:"random_pose"`    // any rotation and translation
	FullArch   bool     `json:"full_arch"`      // 14 teeth instead of a quadrant
	Aligned    bool     `json:"aligned"`        // vertices on the finish line
	Shuffled   bool     `json:"shuffled"`       // facets and vertices in no order
	Float32    bool     `json:"float32"`        // vertices rounded to single precision
	Scale      float64  `json:"scale"`          // factor on the written coordinates; default 1
	Defects    []Defect `json:"defects,omitempty"`
	Crown      *Crown   `json:"crown,omitempty"` // nil for none
}

// Defect is one thing made wrong on demand. Azimuth and extent in degrees.
type Defect struct {
	Kind    string  `json:"kind"`
	Azimuth float64 `json:"azimuth"`
	Extent  float64 `json:"extent"`
	Amount  float64 `json:"amount"` // mm or degrees; 0 means the kind's default
}

// complete fills the zero fields and the defects' defaults.
func (s Spec) complete() (Spec, error) {
	if s.Tooth == "" {
		s.Tooth = "46"
	}
	if s.Material == "" {
		s.Material = "zirconia-3y"
	}
	if s.Triangles <= 0 {
		s.Triangles = 200000
	}
	if s.Scale == 0 {
		s.Scale = 1
	}
	var err error
	if s.Defects, err = filled(s.Defects); err != nil {
		return s, err
	}
	if d, ok := s.has(WrongUnit); ok {
		s.Scale *= d.Amount
	}
	return s.withCrown()
}

// place splits the tooth number into quadrant and position.
func (s Spec) place() (quadrant, position int, err error) {
	n, err := strconv.Atoi(s.Tooth)
	quadrant, position = n/10, n%10
	if err != nil || quadrant < 1 || quadrant > 4 || position < 1 || position > 7 {
		return 0, 0, fmt.Errorf("invent tooth %q: want ISO 3950 quadrant 1 to 4, position 1 to 7", s.Tooth)
	}
	return quadrant, position, nil
}
