package reading

import (
	"crownassay/geom"
	"crownassay/unit"
)

// ID names a measurand; a contract: added, never renamed.
type ID string

// HoldPoint is a moment after which a mistake is costly.
type HoldPoint string

// The hold points in the order of the visit.
const (
	Preparation HoldPoint = "preparation"
	Design      HoldPoint = "design"
	TryIn       HoldPoint = "try-in"
	Recall      HoldPoint = "recall"
)

// Verdict is what a reading and its limit say together.
type Verdict string

// The verdicts.
const (
	Conforms   Verdict = "conforms"
	Fails      Verdict = "fails"
	Undecided  Verdict = "undecided"  // the uncertainty straddles the limit
	Unmeasured Verdict = "unmeasured" // Reason says why
	Informs    Verdict = "informs"    // no limit applies
)

// Place is where on the tooth a reading was found.
type Place struct {
	Azimuth    float64 // degrees
	HasAzimuth bool    // false when the mesial direction is unknown or the place is not on the tooth
	Point      geom.Vec
}

// Sample is a reading at one azimuth, degrees.
type Sample struct {
	Azimuth float64
	Value   float64
}

// Part is one part of an uncertainty budget.
type Part struct {
	Name     string
	Standard float64 // standard uncertainty in the reading's unit
}

// Limit is a tolerance interval; nil means that side has no limit.
type Limit struct {
	Min, Max *float64
	Source   string
	Status   string // read, memory, computed, common practice, practice
}

// Sub is a further value beside the main one (a zone, a component).
type Sub struct {
	Name    string
	Value   float64
	Unit    unit.Unit
	At      *Place
	Limit   *Limit  // set by conformity, for zones
	Verdict Verdict // set by conformity, for zones

	Border   float64 // standard uncertainty for where the zone ends, beside the reading's own
	Expanded float64 // set by conformity, for zones
}

// Reading is one measurand's result.
type Reading struct {
	ID       ID
	Value    float64
	Parts    []Part // what measure knows; conformity adds the scanner's part
	Expanded float64
	Limit    *Limit
	Verdict  Verdict
	At       *Place
	Profile  []Sample
	Subs     []Sub
	Note     string // further findings in words
	Reason   string // why it is unmeasured
	Next     string // one sentence of next step
	OwnLimit *Limit // a limit that measure derives from the case itself

	Conformance *float64    // probability that the value which decided conforms; nil without a limit
	MonteCarlo  *MonteCarlo // nil where it was not asked for

	// ScannerSensitivity is how much the value changes, in its unit, for each
	// millimetre the scanner is off; 0 takes the measurand's own.
	ScannerSensitivity float64
}

// MonteCarlo is what measuring again on perturbed surfaces gave (JCGM 101).
type MonteCarlo struct {
	Draws     int     // that gave a value
	Mean      float64 // of the values
	Standard  float64 // their standard deviation
	Low, High float64 // the middle 95 % of them
}

// Measured reports whether there is a value.
func (r *Reading) Measured() bool { return r.Reason == "" }

// Sectors are the eight sectors of 45 degrees, from azimuth -22.5 on.
var Sectors = [8]string{"M", "MB", "B", "DB", "D", "DL", "L", "ML"}

// Sector returns the sector that holds the azimuth in degrees.
func Sector(azimuth float64) string {
	k := int((azimuth + 22.5 + 720) / 45)
	return Sectors[k%8]
}

// The zones of the occlusal surface of a posterior tooth; a Sub of such a name
// is judged like the reading it belongs to.
const (
	FunctionalCusps = "functional cusps"
	OtherCusps      = "other cusps"
	Fossa           = "fossa"
)

// Zones lists the occlusal zones.
var Zones = []string{FunctionalCusps, OtherCusps, Fossa}

// The names of what goes with a contact; the next step speaks of them.
const (
	BelowRidge    = "below the marginal ridge"
	TakeOff       = "to take off until it touches" // of a heavy contact of a crown as made
	ThicknessLeft = "thickness left there"         // after that
)

// Sub returns the further value of a name; ok is false where there is none.
func (r *Reading) Sub(name string) (s Sub, ok bool) {
	for _, s := range r.Subs {
		if s.Name == name {
			return s, true
		}
	}
	return Sub{}, false
}
