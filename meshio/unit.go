package meshio

import (
	"fmt"
	"math"

	"crownassay/geom"
)

// sizes are the ranges of the largest dimension, in the file's own unit, in
// which each unit is the likely one. Surfaces of this job measure between 3 mm
// (a patch or a small crown; a die or crown has 5 to 20) and 200 mm (an arch
// has 20 to 90, on its base up to 150): common practice. So millimetres take 3
// to 200, micrometres a thousand times that, metres a thousandth. Between 0.2
// and 3 it can only be centimetres or inches: from 0.8 up inches make an arch
// (20 to 76 mm), below it centimetres make a crown (2 to 8 mm).
var sizes = []struct {
	unit   string
	lo, hi float64 // lo <= size < hi
}{
	{"m", 0.003, 0.2},
	{"cm", 0.2, 0.8},
	{"in", 0.8, 3},
	{"mm", 3, 200},
	{"um", 3000, 200000},
}

// LikelyUnit returns the unit ("um", "mm", "cm", "m" or "in") in which a box of
// a dental surface was most likely written, by its largest dimension; "" if
// none is plausible. The ranges stand at sizes.
func LikelyUnit(box geom.Box) string {
	d := largest(box)
	for _, s := range sizes {
		if s.lo <= d && d < s.hi {
			return s.unit
		}
	}
	return ""
}

// largest is the largest dimension of the box.
func largest(box geom.Box) float64 {
	s := box.Size()
	return max(s.X, s.Y, s.Z)
}

// inferUnit returns the unit of a file and says how it was found: as the
// format states it, else by size.
func inferUnit(f *File, box geom.Box) (unit string, notes []string) {
	likely, d := LikelyUnit(box), largest(box)
	if f.UnitMM > 0 {
		unit = unitName(f.UnitMM)
		notes = []string{fmt.Sprintf("unit %s: stated by the file", unit)}
		if mm := d * f.UnitMM; mm < 3 || mm >= 200 {
			notes = append(notes, fmt.Sprintf("a largest dimension of %.4g mm is unusual for a dental surface; check the unit", mm))
		}
		return unit, notes
	}
	if likely == "" {
		return "", []string{fmt.Sprintf("unit not known: the format states none and a largest dimension of %.4g fits none", d)}
	}
	return likely, []string{fmt.Sprintf("unit %s: inferred from the largest dimension of %.4g; the format states none", likely, d)}
}

// unitName is the symbol of a unit of so many millimetres.
func unitName(mm float64) string {
	for _, u := range [...]struct {
		name string
		mm   float64
	}{{"um", 1e-3}, {"mm", 1}, {"cm", 10}, {"in", 25.4}, {"ft", 304.8}, {"m", 1000}} {
		if math.Abs(mm-u.mm) < 1e-9 {
			return u.name
		}
	}
	return fmt.Sprintf("%g mm", mm)
}
