package measure

import (
	"fmt"
	"math"

	"crownassay/finishline"
	"crownassay/reading"
)

// Resistance makes the readings of resistance to tipping.
func (s *Site) Resistance() []reading.Reading {
	return []reading.Reading{s.resistanceShare(), s.resistanceLimit()}
}

// resistanceShare tips a crown about the finish line at each azimuth, about
// the line's tangent there, so that the opposite side rises, and returns the
// smallest share of the opposite half of the axial wall that blocks it: wall
// whose outward normal the crown's own surface would move against.
func (s *Site) resistanceShare() reading.Reading {
	const id = "preparation.resistance.share"
	if len(s.Patches) == 0 {
		return unmeasured(id, noWall)
	}
	v := make([]float64, finishline.Sections)
	for a := range v {
		v[a] = s.blocked(a)
	}
	m := median3(v)
	k := lowest(m)
	if k < 0 {
		return unmeasured(id, noWall)
	}
	h := math.Max(0.5, 2*s.wallLength())
	return reading.Reading{ID: id, Value: m[k], At: s.place(k, s.Line.Point(s.Frame, k)), Profile: profile(v),
		ScannerSensitivity: 100 / h, Parts: []reading.Part{
			{Name: "finish line repeatability", Standard: 100 * s.trace() / h},
			{Name: "wall inclination", Standard: 100 * (0.3 + 30*s.likely()) * math.Pi / 180},
			{Name: "resolution of the wall grid", Standard: 100.0 / finishline.Rows / math.Sqrt(12)},
			below(v, k)}}
}

// blocked returns the blocking share, %, for tipping about azimuth a; NaN
// without an opposite wall. The tangent is taken over as many sections as a
// wall's inclination, since noise turns a shorter one.
func (s *Site) blocked(a int) float64 {
	hinge := s.Line.Point(s.Frame, a)
	axis := s.Line.Point(s.Frame, a+wallSpan).Sub(s.Line.Point(s.Frame, a-wallSpan)).Unit()
	far := s.Line.Point(s.Frame, a+180)
	if axis.Cross(far.Sub(hinge)).Dot(s.Frame.Z) < 0 {
		axis = axis.Neg()
	}
	all, stops := 0.0, 0.0
	for i := range s.Patches {
		p := &s.Patches[i]
		if d := wrap(p.Azimuth - a); d < 90 || d > 270 {
			continue
		}
		all += p.Area
		if axis.Cross(p.Point.Sub(hinge)).Dot(p.Normal) < 0 {
			stops += p.Area
		}
	}
	if all == 0 {
		return math.NaN()
	}
	return 100 * stops / all
}

// LimitingTaper returns the average taper of a wall, degrees, above which less
// than half of it resists tipping about the opposite finish line: 1/2
// arcsin(H/B), and 45 where the wall is as high as the base or higher (no
// limit). Height and base in mm. Source: M. H. Parker et al., 1988 and 1993,
// as given in Dent Clin N Am 48 (2004) 387; formula from memory, it gives the
// 17.4 degrees total that Goodacre et al., J Prosthet Dent 85 (2001) 363,
// cite for H 3, B 10.
func LimitingTaper(height, base float64) float64 {
	return 0.5 * math.Asin(math.Min(1, height/base)) * 180 / math.Pi
}

// ResistsAbove returns the height above the finish line, mm, from which a
// wall of the given taper (degrees) resists tipping about the finish line at
// distance base: the foot of the perpendicular, (B/2) sin 2T. Source: R. M.
// Lewis and M. M. Owen, 1959; agrees with Zuckerman 1988 (Parker 2004, Dent
// Clin N Am 48:387).
func ResistsAbove(taper, base float64) float64 {
	return base / 2 * math.Sin(2*taper*math.Pi/180)
}

// closeSlack is how much less slack, degrees, a section may have and still not
// be told from the worst: half a degree of wall, twice.
const closeSlack = 1.0

// choice is the standard uncertainty of the limit for which section is worst:
// those whose slack is within close of the least may be it as well. The
// farthest of their limits is taken as the half width of a rectangular
// distribution.
func choice(limits, slack []float64, k int, close float64) float64 {
	far := 0.0
	for i := range slack {
		if slack[i] <= slack[k]+close {
			far = math.Max(far, math.Abs(limits[i]-limits[k]))
		}
	}
	return far / math.Sqrt(3)
}

// resistanceLimit is the limiting average taper of the section in which the
// walls' own mean taper comes nearest to it or exceeds it most.
func (s *Site) resistanceLimit() reading.Reading {
	const id = "preparation.resistance.limit"
	h, t := medianAround(s.heights, wallSpan), medianAround(s.tapers, wallSpan)
	limits, slack := make([]float64, finishline.Sections), make([]float64, finishline.Sections)
	for k := range limits {
		o := wrap(k + 180)
		base := s.Line.Point(s.Frame, k).Dist(s.Line.Point(s.Frame, o))
		limits[k] = LimitingTaper((h[k]+h[o])/2, base)
		slack[k] = limits[k] - (t[k]+t[o])/2
		if math.IsNaN(slack[k]) {
			limits[k] = math.NaN()
		}
	}
	k := lowest(slack[:180])
	if k < 0 {
		return unmeasured(id, "no section shows both opposing walls")
	}
	own := limits[k] - slack[k]
	base := s.Line.Point(s.Frame, k).Dist(s.Line.Point(s.Frame, k+180))
	height := (h[k] + h[wrap(k+180)]) / 2
	x := math.Min(0.95, height/base)
	perMM := 0.5 * 180 / math.Pi / (base * math.Sqrt(1-x*x))
	r := reading.Reading{ID: id, Value: limits[k], Profile: profile(limits), ScannerSensitivity: perMM,
		At:       s.place(k, s.Line.Point(s.Frame, k)),
		Subs:     []reading.Sub{{Name: "own mean taper", Value: own, Unit: "deg"}},
		Note:     fmt.Sprintf("height %.2f mm over a base of %.2f mm; the walls' own mean taper there is %.1f degrees", height, base, own),
		OwnLimit: &reading.Limit{Min: &own, Source: "the section's own mean taper (limiting taper: Parker et al. 1988, 1993)", Status: "computed"}}
	r.Parts = append([]reading.Part{{Name: "finish line repeatability", Standard: perMM * s.trace()}}, s.angleParts(s.wallLength(), 0.5)...)
	r.Parts = append(r.Parts, reading.Part{Name: "choice of the section", Standard: choice(limits[:180], slack[:180], k, closeSlack)})
	return r
}
