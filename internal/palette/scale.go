package palette

import (
	"image/color"
	"math"
)

// The same as the page's: lightness rises evenly from a
// deep violet to a pale straw while the hue turns slowly, in a colour space
// made for even steps (Ottosson 2020, "A perceptual color space for image
// processing"). docs/DESIGN-NOTES.md says why; a test holds the two together.

// lch is a colour by lightness, chroma and hue in degrees.
type lch struct{ l, c, hue float64 }

var (
	dark = lch{0.27, 0.085, 305}
	pale = lch{0.92, 0.07, 445} // 85 degrees, the way through rose and clay
	bow  = 0.022                // more chroma half way
)

// At is the colour at t from 0 (least) to 1 (most).
func At(t float64) color.RGBA {
	u := math.Min(1, math.Max(0, t))
	c := fromOklch(lch{Mix(dark.l, pale.l, u), Mix(dark.c, pale.c, u) + bow*math.Sin(math.Pi*u), Mix(dark.hue, pale.hue, u)})
	return color.RGBA{Byte(c[0]), Byte(c[1]), Byte(c[2]), 255}
}

// fromOklch converts to sRGB, each part from 0 to 1.
func fromOklch(x lch) [3]float64 {
	sin, cos := math.Sincos(x.hue * math.Pi / 180)
	a, b := x.c*cos, x.c*sin
	l := cube(x.l + 0.3963377774*a + 0.2158037573*b)
	m := cube(x.l - 0.1055613458*a - 0.0638541728*b)
	s := cube(x.l - 0.0894841775*a - 1.291485548*b)
	return [3]float64{
		encode(4.0767416621*l - 3.3077115913*m + 0.2309699292*s),
		encode(-1.2684380046*l + 2.6097574011*m - 0.3413193965*s),
		encode(-0.0041960863*l - 0.7034186147*m + 1.707614701*s),
	}
}

func cube(x float64) float64 { return x * x * x }

// encode is the sRGB transfer function (IEC 61966-2-1).
func encode(x float64) float64 {
	v := 12.92 * x
	if x > 0.0031308 {
		v = 1.055*math.Pow(x, 1/2.4) - 0.055
	}
	return math.Min(1, math.Max(0, v))
}

// Mix is a at t = 0 and b at t = 1.
func Mix(a, b, t float64) float64 { return a + (b-a)*t }

// Byte is a share of 1 as a byte, cut off at both ends.
func Byte(x float64) uint8 { return uint8(math.Round(255 * math.Min(1, math.Max(0, x)))) }

// Range is what the scale spans.
type Range struct{ Min, Max float64 }

// RangeFor chooses what the scale spans: the values that are there, so far as
// they help to judge against the limit; nil is a side without one. What is far
// beyond takes the end's colour.
func RangeFor(found Range, lo, hi *float64) Range {
	switch {
	case found.Min >= 0 && found.Max <= 100 && lo != nil && *lo > 50:
		return Range{0, 100} // shares in percent
	case lo != nil && hi == nil && *lo > 0:
		return Range{math.Min(math.Max(found.Min, -*lo), 0), 2.5 * *lo}
	case hi != nil && lo == nil && *hi > 0:
		return Range{math.Min(0, math.Max(found.Min, -*hi)), math.Max(2**hi, math.Min(found.Max, 4**hi))}
	case lo != nil && hi != nil && *hi > *lo:
		w := *hi - *lo // the interval takes the middle of the scale, whatever lies far off
		return Range{math.Max(found.Min, *lo-2*w), math.Min(math.Max(found.Max, *hi+w), *hi+3*w)}
	case found.Max > found.Min:
		return found
	}
	return Range{found.Min - 0.5, found.Min + 0.5}
}
