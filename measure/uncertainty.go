package measure

import (
	"math"

	"crownassay/reading"
)

// traceFloor is the least standard uncertainty of a traced finish line point,
// mm. Origin: mean error of points on invented scans without noise, 0.1 mm
// facets. Smaller would claim what facets that cut across the edge cannot
// show.
const traceFloor = 0.012

// sagOf is the depth, mm, by which facets of the given edge length miss a
// surface of 1 mm radius: h^2/8 r. It is used as the standard uncertainty of
// sampling.
func sagOf(spacing float64) float64 { return spacing * spacing / 8 }

// facet is the length, mm, of the longer facets across an edge of the tooth.
func (s *Site) facet() float64 { return math.Max(s.Spacing, s.CutOff) }

// trace is the standard uncertainty of a finish line point: single sections'
// scatter about the curve, which smooths over seven sections, and the facets.
// A facet of length L across a square edge at any place misses it by L/pi on
// average; the surfaces beside it show the edge to about a third of that.
func (s *Site) trace() float64 {
	return math.Sqrt(traceFloor*traceFloor + s.Line.Scatter*s.Line.Scatter/3 + math.Pow(s.facet()/8, 2))
}

// assumedNoise is the noise, mm, that counts in uncertainties where a scan's
// facets are too coarse to tell it: the largest of 5.3 to 12.6 um RMS that
// scanners showed on a flat wafer (PLoS One 2017, PMC5549906, read).
const assumedNoise = 0.0126

// likely is the noise, or what is assumed where it could not be told.
func (s *Site) likely() float64 {
	if math.IsNaN(s.Noise) {
		return assumedNoise
	}
	return s.Noise
}

// known is the noise, 0 where it could not be told.
func (s *Site) known() float64 {
	if math.IsNaN(s.Noise) {
		return 0
	}
	return s.Noise
}

// lengthParts are the uncertainty parts of a length taken from n averaged
// samples of the surface, with the finish line's share counted line times.
func (s *Site) lengthParts(n, line float64) []reading.Part {
	p := []reading.Part{
		{Name: "sampling of the mesh", Standard: sagOf(s.Spacing)},
		{Name: "scan noise", Standard: s.likely() / math.Sqrt(math.Max(1, n))},
	}
	if line > 0 {
		p = append(p, reading.Part{Name: "finish line repeatability", Standard: line * s.trace()})
	}
	return p
}

// angleParts are the parts of an inclination fitted over a wall of the given
// length, degrees; walls is how many enter.
func (s *Site) angleParts(length, walls float64) []reading.Part {
	n := math.Max(3, length/math.Max(s.Spacing, 0.02)) * 3 // three independent sections in the median
	slope := s.likely() * math.Sqrt(12/n) / math.Max(length, 0.2)
	deg := 180 / math.Pi * math.Sqrt(walls)
	return []reading.Part{
		{Name: "scan noise", Standard: slope * deg},
		{Name: "sampling of the mesh", Standard: sagOf(s.Spacing) / math.Max(length, 0.2) * deg},
		{Name: "choice of axis", Standard: 0.05 * math.Sqrt(walls)},
	}
}

// LikelyNoise is the scan's noise, mm, as found or as assumed.
func (s *Site) LikelyNoise() float64 { return s.likely() }
