package conformity

import (
	"math"

	"crownassay/reading"
)

// Coverage is the coverage factor k of every expanded uncertainty: about 95 %
// of a normal distribution (JCGM 100, 6.2).
const Coverage = 2

// DefaultScannerMM is the standard uncertainty of one surface over one tooth,
// mm, when the case does not state the scanner's. Trueness over a single tooth
// is 5 to 25 um (from memory); 25 um taken as the half-width of a rectangular
// distribution gives 25/sqrt(3) = 14.4 um (JCGM 100, 4.3.7). Too small, and a
// value beyond the limit is called conforming; too large, and nothing is
// decided.
const DefaultScannerMM = 0.0144

// Combine returns the standard uncertainty of independent parts: the root of
// the sum of their squares (JCGM 100, 5.1.2).
func Combine(parts []reading.Part) float64 {
	s := 0.0
	for _, p := range parts {
		s += float64(p.Standard * p.Standard)
	}
	return math.Sqrt(s)
}

// scannerPart returns the scanner's part of a reading's budget. Two surfaces
// scanned one after the other are off independently.
func scannerPart(r *reading.Reading, m reading.Measurand, u float64) reading.Part {
	k := r.ScannerSensitivity
	if k == 0 {
		k = m.Sensitivity
	}
	if m.TwoSurfaces {
		k *= math.Sqrt2
	}
	return reading.Part{Name: "scanner", Standard: math.Abs(k) * u}
}

// expand fills the budget and the expanded uncertainty of a measured reading.
func expand(r *reading.Reading, m reading.Measurand, scanner float64) {
	parts := append([]reading.Part(nil), r.Parts...)
	if p := scannerPart(r, m, scanner); p.Standard > 0 {
		parts = append(parts, p)
	}
	r.Parts = parts
	r.Expanded = Coverage * Combine(parts)
}
