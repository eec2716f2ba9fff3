package reading

import "crownassay/unit"

// Sense says on which side a measurand may have a limit.
type Sense string

// The senses.
const (
	AtLeast Sense = "at least" // a lower limit
	AtMost  Sense = "at most"  // an upper limit
	Within  Sense = "within"   // a lower and an upper limit
	NoLimit Sense = "informs"  // none
)

// Measurand is what a reading is a measurement of.
type Measurand struct {
	ID        ID
	HoldPoint HoldPoint
	Unit      unit.Unit
	Name      string // in a dentist's words
	Sense     Sense
	Digits    int  // decimals that mean something when shown
	Sectioned bool // has a profile, one value a degree of azimuth

	// Sensitivity is the change of the value, in its unit, for each
	// millimetre the scanner is off, where the reading does not bring its own.
	Sensitivity float64
	// TwoSurfaces says that the value lies between two surfaces that were
	// scanned one after the other.
	TwoSurfaces bool

	Definition string // full sentences
}

// Find returns the measurand of an id.
func Find(id ID) (Measurand, bool) {
	i := Order(id)
	if i == len(Measurands) {
		return Measurand{}, false
	}
	return Measurands[i], true
}

// Order returns the place of an id in the table, or the table's length for an
// unknown one.
func Order(id ID) int {
	for i := range Measurands {
		if Measurands[i].ID == id {
			return i
		}
	}
	return len(Measurands)
}
