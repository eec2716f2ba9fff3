package render

import (
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// View is where the picture is taken from. Zero sizes mean 900 x 700 pixels;
// a zero Width of scene means that everything fits.
type View struct {
	Toward geom.Vec     // the direction of looking
	Up     geom.Vec     // up in the picture
	Center geom.Vec     // middle of the picture, used when Span > 0
	Span   float64      // mm across the picture's width; 0 fits all
	Pixels image.Point  // size of the picture
	Colors []color.RGBA // one for each mesh; the last one serves the rest
}

// light is the share of each term in a pixel's brightness.
const (
	ambient = 0.22
	key     = 0.62
	fill    = 0.16
)

// canvas is a picture with depth.
type canvas struct {
	w, h                int
	right, up, back     geom.Vec
	center              geom.Vec
	scale               float64 // pixels per mm
	depth               []float64
	img                 *image.RGBA
	lightKey, lightFill geom.Vec
}

// Render draws the meshes as PNG. Facets are lit on both sides; a facet seen
// from behind is darker and bluish, so that a flipped surface shows.
func Render(w io.Writer, meshes []*mesh.Mesh, v View) error {
	if len(meshes) == 0 || v.Toward.Norm() == 0 {
		return errors.New("draw meshes: need a mesh and a direction of looking")
	}
	c := newCanvas(meshes, v)
	for i, m := range meshes {
		c.mesh(m, tint(v.Colors, i))
	}
	if err := png.Encode(w, c.img); err != nil {
		return fmt.Errorf("write picture: %w", err)
	}
	return nil
}

func tint(colors []color.RGBA, i int) color.RGBA {
	if len(colors) == 0 {
		return color.RGBA{226, 216, 200, 255}
	}
	return colors[min(i, len(colors)-1)]
}

func newCanvas(meshes []*mesh.Mesh, v View) *canvas {
	c := &canvas{w: v.Pixels.X, h: v.Pixels.Y}
	if c.w <= 0 || c.h <= 0 {
		c.w, c.h = 900, 700
	}
	c.back = v.Toward.Unit().Neg()
	c.up = v.Up.Reject(c.back).Unit()
	if c.up.Norm() == 0 {
		c.up = c.back.Normal()
	}
	c.right = c.up.Cross(c.back)
	c.lightKey = c.back.Add(c.up.Mul(0.7)).Sub(c.right.Mul(0.6)).Unit()
	c.lightFill = c.back.Add(c.right.Mul(1.5)).Sub(c.up.Mul(0.2)).Unit()
	c.fit(meshes, v)
	c.depth = make([]float64, c.w*c.h)
	c.img = image.NewRGBA(image.Rect(0, 0, c.w, c.h))
	for i := range c.depth {
		c.depth[i] = math.Inf(-1)
		c.img.SetRGBA(i%c.w, i/c.w, color.RGBA{248, 248, 246, 255})
	}
	return c
}

// fit sets centre and scale.
func (c *canvas) fit(meshes []*mesh.Mesh, v View) {
	if v.Span > 0 {
		c.center, c.scale = v.Center, float64(c.w)/v.Span
		return
	}
	b := geom.EmptyBox()
	for _, m := range meshes {
		for _, p := range m.V {
			b = b.Include(geom.Vec{X: p.Dot(c.right), Y: p.Dot(c.up), Z: p.Dot(c.back)})
		}
	}
	o, s := b.Center(), b.Size()
	c.center = c.right.Mul(o.X).Add(c.up.Mul(o.Y)).Add(c.back.Mul(o.Z))
	c.scale = 0.96 * math.Min(float64(c.w)/math.Max(s.X, 1e-9), float64(c.h)/math.Max(s.Y, 1e-9))
}

// mesh draws one mesh.
func (c *canvas) mesh(m *mesh.Mesh, col color.RGBA) {
	n := normals(m)
	s := make([]geom.Vec, len(m.V))
	for i, p := range m.V {
		d := p.Sub(c.center)
		s[i] = geom.Vec{
			X: float64(c.w)/2 + c.scale*d.Dot(c.right),
			Y: float64(c.h)/2 - c.scale*d.Dot(c.up),
			Z: d.Dot(c.back),
		}
	}
	for _, f := range m.F {
		c.facet([3]geom.Vec{s[f[0]], s[f[1]], s[f[2]]}, [3]geom.Vec{n[f[0]], n[f[1]], n[f[2]]}, col)
	}
}

// normals returns area-weighted vertex normals.
func normals(m *mesh.Mesh) []geom.Vec {
	n := make([]geom.Vec, len(m.V))
	for i, f := range m.F {
		d := geom.TriangleNormal(m.Corner(int32(i)))
		for _, k := range f {
			n[k] = n[k].Add(d)
		}
	}
	for i := range n {
		n[i] = n[i].Unit()
	}
	return n
}

// facet fills a triangle given in pixels and depth.
func (c *canvas) facet(s, n [3]geom.Vec, col color.RGBA) {
	behind := turnOf(&s) > 0
	c.fill(&s, nil, func(x, y int, b, g float64) {
		c.img.SetRGBA(x, y, c.shade(n[0].Mul(1-b-g).Add(n[1].Mul(b)).Add(n[2].Mul(g)).Unit(), col, behind))
	})
}

// turnOf is twice the signed area of a triangle in the picture. There y runs
// down, so that of a facet seen from outside is negative.
func turnOf(s *[3]geom.Vec) float64 {
	return (s[1].X-s[0].X)*(s[2].Y-s[0].Y) - (s[2].X-s[0].X)*(s[1].Y-s[0].Y)
}

// fill calls paint for the pixels of a triangle that nothing stands before,
// with the weights b and g of the second and the third corner. Hidden, where it
// is not nil, says of such weights that there is nothing.
func (c *canvas) fill(s *[3]geom.Vec, hidden func(b, g float64) bool, paint func(x, y int, b, g float64)) {
	d := turnOf(s)
	if d == 0 {
		return
	}
	x0, x1 := span(s[0].X, s[1].X, s[2].X, c.w)
	y0, y1 := span(s[0].Y, s[1].Y, s[2].Y, c.h)
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			px, py := float64(x)+0.5, float64(y)+0.5
			b := ((px-s[0].X)*(s[2].Y-s[0].Y) - (s[2].X-s[0].X)*(py-s[0].Y)) / d
			g := ((s[1].X-s[0].X)*(py-s[0].Y) - (px-s[0].X)*(s[1].Y-s[0].Y)) / d
			if b < 0 || g < 0 || b+g > 1 {
				continue
			}
			z := s[0].Z + b*(s[1].Z-s[0].Z) + g*(s[2].Z-s[0].Z)
			k := y*c.w + x
			if z <= c.depth[k] || hidden != nil && hidden(b, g) {
				continue
			}
			c.depth[k] = z
			paint(x, y, b, g)
		}
	}
}

// span clips the range of three values to 0..n-1.
func span(a, b, c float64, n int) (lo, hi int) {
	l, h := math.Min(a, math.Min(b, c)), math.Max(a, math.Max(b, c))
	return int(math.Max(0, math.Floor(l))), int(math.Min(float64(n-1), math.Ceil(h)))
}

// shade lights a normal. In the picture y runs down, so a facet seen from
// outside has a negative determinant; behind says that it is not.
func (c *canvas) shade(n geom.Vec, col color.RGBA, behind bool) color.RGBA {
	if behind {
		n = n.Neg()
		col = color.RGBA{col.R / 2, col.G / 2, col.B/2 + 60, 255}
	}
	l := ambient + key*math.Max(0, n.Dot(c.lightKey)) + fill*math.Max(0, n.Dot(c.lightFill))
	h := math.Pow(math.Max(0, n.Dot(c.lightKey.Add(c.back).Unit())), 40) * 0.18
	f := func(v uint8) uint8 { return uint8(math.Min(255, 255*math.Min(1, float64(v)/255*l*1.08+h))) }
	return color.RGBA{f(col.R), f(col.G), f(col.B), 255}
}
