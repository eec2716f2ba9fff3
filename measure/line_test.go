package measure

import (
	"math"
	"testing"

	"crownassay/finishline"
	"crownassay/internal/shape"
)

// waved is a site whose finish line is the circle of radius r with waves of
// the given amplitude, so many around, along the axis.
func waved(r, amplitude float64, waves int) *Site {
	c := &finishline.Curve{}
	for k := range finishline.Sections {
		c.R = append(c.R, r)
		c.Z = append(c.Z, amplitude*math.Cos(float64(waves*k)*math.Pi/180))
		c.Seen, c.Legible = append(c.Seen, true), append(c.Legible, true)
	}
	f := &finishline.Found{Frame: anywhere(5).frame(), Line: c, Walls: make([]finishline.Wall, finishline.Sections)}
	return NewSite(Site{Found: f, Spacing: 0.05})
}

// TestRoughnessOfCircle: a circle is smooth. The parabola over -h to h misses
// a circle of radius r by its fourth order only, 3/35 h^4 / (24 r^3); h is 0.5
// mm and at most one step of a degree more.
func TestRoughnessOfCircle(t *testing.T) {
	for _, r := range []float64{3, 5} {
		h := smoothArc/2 + r*math.Pi/180
		bound := 3.0 / 35 * h * h * h * h / (24 * r * r * r)
		if got := waved(r, 0, 0).roughness().Value; got > bound {
			t.Errorf("roughness of a circle of %v mm = %g, want at most %g", r, got, bound)
		}
	}
}

// savitzkyGolay13 are the weights of the parabola through 13 even points at
// the middle one, from the middle outward, in 143rds (A. Savitzky and M. J. E.
// Golay, Anal. Chem. 36 (1964) 1627, table I; from memory; they add up to 143).
var savitzkyGolay13 = []float64{25, 24, 21, 16, 9, 0, -11}

// TestRoughnessOfWaves: on a circle of 5 mm a degree is 0.087 mm, so that 0.5
// mm to either side are 6 points and the smoothing takes the share G of a
// shallow wave that Savitzky and Golay's weights for 13 points take; what is
// left is amplitude |1 - G| / sqrt 2.
func TestRoughnessOfWaves(t *testing.T) {
	const amplitude = 0.003
	for _, waves := range []int{20, 36, 60, 90} {
		g := savitzkyGolay13[0] / 143
		for j := 1; j < len(savitzkyGolay13); j++ {
			g += 2 * savitzkyGolay13[j] / 143 * math.Cos(float64(j*waves)*math.Pi/180)
		}
		want := amplitude * math.Abs(1-g) / math.Sqrt2
		if got := waved(5, amplitude, waves).roughness().Value; !near(got, want, 0.02*want) {
			t.Errorf("%d waves: roughness = %.6f, want %.6f", waves, got, want)
		}
	}
}

// TestLengthOfOval: the length of an ellipse with half axes a and b is
// integrated over its parameter.
func TestLengthOfOval(t *testing.T) {
	const a, b = 5.5, 4.0
	radius := func(az float64) float64 {
		s, c := math.Sincos(az * math.Pi / 180)
		return a * b / math.Hypot(b*c, a*s)
	}
	want := 0.0
	const n = 20000
	for k := range n {
		s, c := math.Sincos(2 * math.Pi * (float64(k) + 0.5) / n)
		want += math.Hypot(a*s, b*c) * 2 * math.Pi / n
	}
	path := func(az float64) shape.Path {
		return shape.Prep{Radius: radius(az), Width: 0.8, Height: 4, Taper: 6, Rim: 0.3, Root: 10, Deep: 2}.Path()
	}
	s := anywhere(7).site(t, shape.Lathe(path, 0.1, 1))
	if got := s.length().Value; !near(got, want, 0.03) {
		t.Errorf("length = %.4f, want %.4f", got, want)
	}
	if got := s.widths()[1].Value; !near(got, 0.8, 0.005) {
		t.Errorf("mean width = %.4f, want 0.8", got)
	}
}

// TestNarrowWidthIsFound: the ledge narrows over 60 degrees from 1 to 0.4 mm
// at azimuth 120; a cosine changes over the 3 sections of the median by 0.0004.
func TestNarrowWidthIsFound(t *testing.T) {
	width := func(az float64) float64 {
		d := math.Abs(math.Remainder(az-120, 360))
		return 1 - 0.3*(1+math.Cos(math.Pi*math.Min(d, 30)/30))
	}
	path := func(az float64) shape.Path {
		return shape.Prep{Radius: 4 + width(az), Width: width(az), Height: 4, Taper: 6, Rim: 0.3, Root: 10, Deep: 2}.Path()
	}
	a := anywhere(10)
	a.exact = true
	r := a.site(t, shape.Lathe(path, 0.08, 1)).widths()[0]
	if !near(r.Value, 0.4, 0.02) || !near(r.At.Azimuth, 120, 4) {
		t.Errorf("least width = %.4f at %v, want 0.4 at 120", r.Value, r.At.Azimuth)
	}
}

// TestLegibleArc: where the surface runs on without a turn nothing is seen.
func TestLegibleArc(t *testing.T) {
	s := waved(5, 0, 0)
	for k := 40; k < 76; k++ {
		s.Line.Legible[k] = false
	}
	r := s.legible()
	if !near(r.Value, 90, 1e-9) {
		t.Errorf("legible = %v %%, want 90", r.Value)
	}
	if got, want := r.Subs[0].Value, 5*36*math.Pi/180; !near(got, want, 0.001) {
		t.Errorf("longest arc = %.4f mm, want %.4f", got, want)
	}
}

// TestLongest: runs around the circle, over its seam and all of it.
func TestLongest(t *testing.T) {
	for _, c := range []struct {
		bad  func(int) bool
		want arc
	}{
		{func(k int) bool { return false }, arc{}},
		{func(k int) bool { return k >= 350 || k < 20 }, arc{350, 30}},
		{func(k int) bool { return k == 5 || k > 100 && k <= 103 }, arc{101, 3}},
		{func(k int) bool { return true }, arc{0, 360}},
	} {
		if got := longest(c.bad); got != c.want {
			t.Errorf("longest = %+v, want %+v", got, c.want)
		}
	}
}
