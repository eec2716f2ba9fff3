package record

import (
	"strings"

	"crownassay/geom"
	"crownassay/reading"
	"crownassay/tooth"
)

// Format names the form of the JSON document; it changes only when a reader
// of the old form would be misled.
const Format = "crownassay/1"

// Version is the program's version.
const Version = "0.1.0"

// Record is one run.
type Record struct {
	Tooth      tooth.Tooth
	Numbering  tooth.Numbering // the system the case used; empty for ISO 3950
	Material   string          // name
	Surfaces   []Surface
	Frame      *Frame     // nil when there is none
	FinishLine []geom.Vec // closed, without a repeated end
	Readings   []reading.Reading
	Settings   Settings
	Notes      []string // warnings in words
	Budget     *Budget  // nil where it was not asked for
}

// Budget says that the readings are to be shown with their budgets, and how
// they were drawn again.
type Budget struct {
	Draws     int // asked for; 0 for none
	Failed    int // in which nothing could be measured
	Seed      uint64
	NoiseMM   float64 // standard deviation of the noise laid on scans, mm
	ScannerMM float64 // of their distortion, mm
}

// Surface is one mesh file of the run.
type Surface struct {
	Role      string
	File      string // as the case gives it
	SHA256    string // of the file, hexadecimal
	Triangles int
	Unit      string // of the file
}

// Frame is the tooth's frame in the coordinates of the files.
type Frame struct {
	Origin    geom.Vec
	Placement geom.Vec  // unit
	Mesial    *geom.Vec // unit, square to Placement; nil when unknown
	Buccal    *geom.Vec // the same
	Zero      geom.Vec  // the direction of azimuth 0: Mesial where it is known, else arbitrary
	Turn      geom.Vec  // the direction of azimuth 90
}

// Settings is what the judgement depended on beside the surfaces.
type Settings struct {
	CementSpace    float64 // mm
	LeastThickness float64 // of the material, mm
	ScannerUM      float64 // expanded uncertainty, um
	ScannerStated  bool    // by the case
	ScannerFrom    string  // the check of the scanner that it is from, in words; empty if stated or the default
	LimitsFile     string  // the practice's own, as the case gives it
	Rule           string  // how values are compared with limits; empty for the guard band
}

// Count returns how many readings have the verdict.
func (r *Record) Count(v reading.Verdict) int {
	n := 0
	for i := range r.Readings {
		if r.Readings[i].Verdict == v {
			n++
		}
	}
	return n
}

// ExitStatus returns 1 if a reading fails, 2 if none could be made at all,
// and 0 otherwise.
func (r *Record) ExitStatus() int {
	switch {
	case r.Count(reading.Fails) > 0:
		return 1
	case r.Count(reading.Unmeasured) == len(r.Readings):
		return 2
	}
	return 0
}

// Headline returns the most important next step: that of the worst reading
// that fails or is undecided, or else what could not be measured.
func (r *Record) Headline() string {
	for _, v := range []reading.Verdict{reading.Fails, reading.Undecided} {
		for i := range r.Readings {
			if q := &r.Readings[i]; q.Verdict == v && q.Next != "" {
				return q.Next
			}
		}
	}
	var missing []string
	for i := range r.Readings {
		if q := &r.Readings[i]; q.Verdict == reading.Unmeasured {
			m, _ := reading.Find(q.ID)
			missing = append(missing, strings.ToLower(m.Name))
		}
	}
	if len(missing) == 0 {
		return "Every reading that has a limit conforms."
	}
	return "Nothing fails. Not measured: " + strings.Join(missing, ", ") + "."
}
