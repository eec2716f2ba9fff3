// Package unit names the quantities that cross a door of the program: limits,
// JSON, page and PDF. Inside the geometry plain float64 millimetres and
// radians are used.
package unit

import "math"

// Length is a length in millimetres.
type Length float64

// Angle is a plane angle in degrees, as shown to people.
type Angle float64

// Unit is the symbol of a reading's unit.
type Unit string

// The units of readings.
const (
	Millimetre       Unit = "mm"
	SquareMillimetre Unit = "mm^2"
	Degree           Unit = "deg"
	Percent          Unit = "%"
	Newton           Unit = "N"
	One              Unit = "1"
)

// Degrees turns radians into an Angle.
func Degrees(rad float64) Angle { return Angle(rad * 180 / math.Pi) }

// Radians returns the angle in radians.
func (a Angle) Radians() float64 { return float64(a) * math.Pi / 180 }

// MillimetresPer returns how many millimetres one of the named length units
// of mesh files has, and whether the name is known.
func MillimetresPer(name string) (float64, bool) {
	f, ok := map[string]float64{"um": 1e-3, "mm": 1, "cm": 10, "m": 1000, "in": 25.4}[name]
	return f, ok
}
