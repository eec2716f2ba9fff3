package finishline

import (
	"math"
	"testing"
)

// sampled takes f at every degree, all seen but those of a gap.
func sampled(f func(k float64) float64, gapFrom, gapTo int) (v []float64, seen []bool) {
	for k := range Sections {
		in := k < gapFrom || k >= gapTo
		seen = append(seen, in)
		x := math.NaN()
		if in {
			x = f(float64(k))
		}
		v = append(v, x)
	}
	return v, seen
}

// TestSmoothKeepsParabolas: a local parabola reproduces parabolas, beside a gap
// too (the ends of the circle, where the parabola jumps, are left out).
func TestSmoothKeepsParabolas(t *testing.T) {
	f := func(k float64) float64 { return 4 + 0.01*(k-150) - 3e-4*(k-150)*(k-150) }
	v, seen := sampled(f, 200, 230)
	out := smoother{half: smoothing}.smooth(v, seen)
	for k := 10; k < 350; k++ {
		if seen[k] && !within(out[k], f(float64(k)), 1e-9) {
			t.Fatalf("smooth at %d = %v, want %v", k, out[k], f(float64(k)))
		}
	}
}

// TestSmoothCutsOutliers: the middle one of 7 sections has less than half of
// the weight in a parabola fitted to them with weights falling off, so that of
// a lone outlier less than half is left.
func TestSmoothCutsOutliers(t *testing.T) {
	v, seen := sampled(func(k float64) float64 {
		if k == 100 {
			return 5
		}
		return 4
	}, 0, 0)
	if got := (smoother{half: smoothing}).smooth(v, seen)[100] - 4; got <= 0 || got > 0.5 {
		t.Errorf("an outlier of 1 leaves %v", got)
	}
}

// TestAcross: a gap is bridged by a cubic with the slopes of straight fits over
// 9 sections beside it. Straight lines are kept. A parabola b x^2 has its
// slopes taken 4 sections before the ends, 8 b too steep each, which lifts the
// middle of a gap of width w by w/8 (8 b + 8 b) = 2 w b against the parabola
// (Hermite weights 1/8 at the middle).
func TestAcross(t *testing.T) {
	for _, c := range []struct {
		b    float64
		w    int
		lift func(b, w float64) float64
	}{
		{0, 40, func(b, w float64) float64 { return 0 }},
		{2e-4, 20, func(b, w float64) float64 { return -2 * w * b }},
		{-1e-4, 40, func(b, w float64) float64 { return -2 * w * b }},
	} {
		f := func(k float64) float64 { return 3 + 0.02*(k-180) + c.b*(k-180)*(k-180) }
		from := 180 - c.w/2
		v, seen := sampled(f, from+1, from+c.w)
		got := smoother{half: smoothing}.smooth(v, seen)
		if want := f(180) + c.lift(c.b, float64(c.w)); !within(got[180], want, 1e-9) {
			t.Errorf("gap of %d, b %g: middle = %.6f, want %.6f", c.w, c.b, got[180], want)
		}
		for k := from; k < from+c.w; k++ {
			if c.b == 0 && !within(got[k], f(float64(k)), 1e-9) {
				t.Errorf("a straight line is bent at %d: %v, want %v", k, got[k], f(float64(k)))
			}
		}
	}
}

// TestAcrossTheSeam: a gap over azimuth 0 is bridged like any other.
func TestAcrossTheSeam(t *testing.T) {
	wave := func(k float64) float64 { return 4 + 0.3*math.Cos((k-5)*math.Pi/180) }
	turned := func(k float64) float64 { return wave(k + 180) }
	v, seen := sampled(wave, 170, 190)
	w, seenToo := sampled(turned, 0, 10)
	for k := 350; k < 360; k++ {
		w[k], seenToo[k] = math.NaN(), false
	}
	a, b := smoother{half: smoothing}.smooth(v, seen), smoother{half: smoothing}.smooth(w, seenToo)
	for d := -12; d < 12; d++ {
		if x, y := a[180+d], b[(360+d)%360]; !within(x, y, 1e-9) {
			t.Errorf("%d degrees from the middle: %v, over the seam %v", d, x, y)
		}
	}
}

// TestShare weighs by length: on an even circle by count.
func TestShare(t *testing.T) {
	c := &Curve{}
	for k := range Sections {
		c.R, c.Z, c.Legible = append(c.R, 4), append(c.Z, 0), append(c.Legible, k < 90)
	}
	if got := c.Share(home); !within(got, 0.25, 1e-12) {
		t.Errorf("share = %v, want 0.25", got)
	}
}
