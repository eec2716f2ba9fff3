package render

import (
	"image"
	"image/color"
	"math"
	"os"
	"strings"
	"testing"

	"crownassay/geom"
	"crownassay/internal/palette"
)

// flat is the tile with a value that rises along x from -1 to 1.
func flat(limits ...float64) Scene {
	m := tile()
	v := make([]float64, len(m.V))
	for i, p := range m.V {
		v[i] = p.X
	}
	return Scene{Solids: []Solid{{Mesh: m, Values: v, Span: palette.Range{Min: -1, Max: 1}, Limits: limits}}, Toward: geom.V(0, 0, -1), Up: geom.V(0, 1, 0), Span: 4, Pixels: image.Pt(200, 200)}
}

// TestMapAndContour looks where the colours and the limit's line must be: the
// tile of 2 mm covers pixels 50 to 150, a value x lies at 100 + 50 x.
func TestMapAndContour(t *testing.T) {
	p, err := Draw(flat(0.5))
	if err != nil {
		t.Fatal(err)
	}
	at := func(x, y int) color.RGBA { return p.Image.RGBAAt(x, y) }
	if c := at(10, 100); c != (color.RGBA{255, 255, 255, 255}) {
		t.Errorf("beside the tile it is %v, want white", c)
	}
	luma := func(c color.RGBA) int { return int(c.R) + int(c.G) + int(c.B) }
	if a, b := luma(at(60, 100)), luma(at(115, 100)); a >= b {
		t.Errorf("a low value is as light (%d) as a high one (%d)", a, b)
	}
	if c := luma(at(125, 100)); c > 3*60 {
		t.Errorf("on the limit it is %v, want ink", at(125, 100))
	}
	for _, x := range []int{118, 132} {
		if c := luma(at(x, 100)); c < 3*90 {
			t.Errorf("beside the limit, at %d, it is %v, want the scale's colour", x, at(x, 100))
		}
	}
	x, y := p.Pixel(geom.V(0.5, 0.5, 0))
	if math.Abs(x-125) > 1e-9 || math.Abs(y-75) > 1e-9 {
		t.Errorf("(0.5, 0.5) lies at %g, %g, want 125, 75", x, y)
	}
}

// TestWithoutValue: where there is none the tooth's own colour shows.
func TestWithoutValue(t *testing.T) {
	s := flat()
	for i := range s.Solids[0].Values {
		s.Solids[0].Values[i] = math.NaN()
	}
	p, err := Draw(s)
	if err != nil {
		t.Fatal(err)
	}
	if c := p.Image.RGBAAt(100, 100); c.R < c.G || c.G < c.B || c.B < 150 {
		t.Errorf("it is %v, want the tooth's colour", c)
	}
}

// TestCutAway: what is cut away is not seen, on facets that are cut in part too.
func TestCutAway(t *testing.T) {
	s := flat()
	s.Solids[0].Cut = func(p geom.Vec) bool { return p.X > 0.5 }
	p, err := Draw(s)
	if err != nil {
		t.Fatal(err)
	}
	for x, want := range map[float64]bool{-0.9: true, 0.45: true, 0.55: false, 0.9: false} {
		u, v := p.Pixel(geom.V(x, 0.01, 0))
		if got := p.Image.RGBAAt(int(u), int(v)) != (color.RGBA{255, 255, 255, 255}); got != want {
			t.Errorf("at x = %g something is there: %t, want %t", x, got, want)
		}
	}
}

// TestHiddenCurve: a line behind a surface is not seen, one before it is.
func TestHiddenCurve(t *testing.T) {
	for z, want := range map[float64]bool{1: true, -1: false} {
		s := flat()
		red := color.RGBA{255, 0, 0, 255}
		s.Curves = []Curve{{Points: []geom.Vec{{X: -0.5, Z: z}, {X: 0.5, Z: z}}, Width: 4, Color: red}}
		p, err := Draw(s)
		if err != nil {
			t.Fatal(err)
		}
		if got := p.Image.RGBAAt(100, 100) == red; got != want {
			t.Errorf("line at z = %g is seen: %t, want %t", z, got, want)
		}
	}
}

// TestShadingIsThePages looks for the terms of the light in the page's source.
func TestShadingIsThePages(t *testing.T) {
	shade, err := os.ReadFile("../../web/src/page/shade.ts")
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []string{"0.40 + 0.52 * key + 0.16 * fill", "0.72 + 0.26 * key + 0.06 * fill", "vec3(-0.35, 0.45, 0.85)", "vec3(0.6, -0.2, 0.6)", "new THREE.Vector3(0.9, 0.88, 0.85)"} {
		if !strings.Contains(string(shade), s) {
			t.Errorf("shade.ts has no %s any more: shade here as it does", s)
		}
	}
}
