package palette

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"strconv"
	"testing"
)

// The sRGB primaries in OKLCH, as CSS Color Module Level 4 gives them for red
// (oklch(0.628 0.2577 29.23)), green #0f0 (0.8664 0.2948 142.5) and blue (0.452
// 0.3132 264.05); from memory.
func TestOklch(t *testing.T) {
	for _, c := range []struct {
		in   lch
		want [3]float64
	}{
		{lch{0.62796, 0.25768, 29.234}, [3]float64{1, 0, 0}},
		{lch{0.86644, 0.29483, 142.495}, [3]float64{0, 1, 0}},
		{lch{0.45201, 0.31321, 264.052}, [3]float64{0, 0, 1}},
		{lch{1, 0, 0}, [3]float64{1, 1, 1}},
	} {
		got := fromOklch(c.in)
		for k := range got {
			if math.Abs(got[k]-c.want[k]) > 0.004 {
				t.Errorf("fromOklch(%v) = %.4f, want %v", c.in, got, c.want)
			}
		}
	}
}

// Lightness rises all the way, so that a grey print reads the same.
func TestScaleIsOrderedInGrey(t *testing.T) {
	last := -1.0
	for i := range 101 {
		c := At(float64(i) / 100)
		y := 0.2126*float64(c.R) + 0.7152*float64(c.G) + 0.0722*float64(c.B)
		if y <= last {
			t.Errorf("at %d %% the luma is %.1f, not above %.1f", i, y, last)
		}
		last = y
	}
}

func TestRangeFor(t *testing.T) {
	f := func(x float64) *float64 { return &x }
	for _, c := range []struct {
		found  Range
		lo, hi *float64
		want   Range
	}{
		{Range{0, 100}, f(95), nil, Range{0, 100}},
		{Range{0.3, 9}, f(1), nil, Range{0, 2.5}},
		{Range{-5, 9}, f(1), nil, Range{-1, 2.5}},
		{Range{0, 0.02}, nil, f(0.05), Range{0, 0.1}},
		{Range{0, 7}, nil, f(0.05), Range{0, 0.2}},
		{Range{-1, 3}, f(-0.5), f(0.5), Range{-1, 3}},
		{Range{-9, 30}, f(0), f(1), Range{-2, 4}},
		{Range{3, 8}, nil, nil, Range{3, 8}},
		{Range{3, 3}, nil, nil, Range{2.5, 3.5}},
	} {
		if got := RangeFor(c.found, c.lo, c.hi); got != c.want {
			t.Errorf("RangeFor(%v, %s) = %v, want %v", c.found, fmt.Sprint(c.lo != nil, c.hi != nil), got, c.want)
		}
	}
}

// TestScaleIsThePages reads the ends of the scale from the page's source.
func TestScaleIsThePages(t *testing.T) {
	b, err := os.ReadFile("../../web/src/page/scale.ts")
	if err != nil {
		t.Fatal(err)
	}
	number := func(pattern string) (out []float64) {
		m := regexp.MustCompile(pattern).FindStringSubmatch(string(b))
		if m == nil {
			t.Fatalf("scale.ts has nothing like %s", pattern)
		}
		for _, s := range m[1:] {
			x, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, x)
		}
		return out
	}
	for name, want := range map[string]lch{"dark": dark, "pale": pale} {
		if got := number("const " + name + ` = \{ L: ([\d.]+), C: ([\d.]+), hue: ([\d.]+) \}`); got[0] != want.l || got[1] != want.c || got[2] != want.hue {
			t.Errorf("%s is %v on the page and %v here", name, got, want)
		}
	}
	if got := number(`const bow = ([\d.]+) \* Math.sin\(Math.PI \* u\)`); got[0] != bow {
		t.Errorf("bow is %v on the page and %v here", got, bow)
	}
}
