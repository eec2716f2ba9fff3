package render

import (
	"errors"
	"image"
	"image/color"
	"math"

	"crownassay/geom"
	"crownassay/internal/palette"
	"crownassay/mesh"
)

// Solid is a surface of a scene.
type Solid struct {
	Mesh   *mesh.Mesh
	Values []float64             // at each vertex, NaN where there is none; nil shows the tooth's own colour
	Span   palette.Range         // of the scale
	Limits []float64             // drawn as contour lines
	Cut    func(p geom.Vec) bool // tells which places are cut away; nil for none
}

// Curve is a line drawn over the surfaces where it is not hidden by them.
type Curve struct {
	Points []geom.Vec
	Closed bool
	Width  float64 // pixels
	Color  color.RGBA
}

// Scene is what is drawn and from where.
type Scene struct {
	Solids []Solid
	Curves []Curve
	Toward geom.Vec // the direction of looking
	Up     geom.Vec // up in the picture
	Center geom.Vec // in the middle of the picture
	Span   float64  // mm across the picture's width
	Pixels image.Point
}

// Picture is a drawn scene.
type Picture struct {
	Image *image.RGBA
	c     *canvas
	per   int
}

// over is how many samples a pixel has along each side.
const over = 2

// The colours of the page: paper, ink and the tooth's own.
var (
	paper = [3]float64{1, 1, 1}
	ink   = [3]float64{0.1, 0.1, 0.1}
	tooth = [3]float64{0.9, 0.88, 0.85}
)

// Draw draws a scene on white.
func Draw(s Scene) (*Picture, error) {
	if len(s.Solids) == 0 || s.Toward.Norm() == 0 || s.Span <= 0 || s.Pixels.X <= 0 || s.Pixels.Y <= 0 {
		return nil, errors.New("draw scene: need a surface, a direction of looking and a size")
	}
	c := newCanvas(nil, View{Toward: s.Toward, Up: s.Up, Center: s.Center, Span: s.Span, Pixels: s.Pixels.Mul(over)})
	for i := range c.img.Pix {
		c.img.Pix[i] = 255
	}
	for i := range s.Solids {
		c.solid(&s.Solids[i])
	}
	for _, l := range s.Curves {
		c.curve(l)
	}
	return &Picture{shrink(c.img), c, over}, nil
}

// Pixel is where a point of space lies in the picture, in pixels from its top
// left corner.
func (p *Picture) Pixel(q geom.Vec) (x, y float64) {
	s := p.c.screen(q)
	return s.X / float64(p.per), s.Y / float64(p.per)
}

// screen is a point in samples and depth.
func (c *canvas) screen(p geom.Vec) geom.Vec {
	d := p.Sub(c.center)
	return geom.Vec{X: float64(c.w)/2 + c.scale*d.Dot(c.right), Y: float64(c.h)/2 - c.scale*d.Dot(c.up), Z: d.Dot(c.back)}
}

// solid draws a surface with its map.
func (c *canvas) solid(o *Solid) {
	n := normals(o.Mesh)
	at := make([]geom.Vec, len(o.Mesh.V))
	for i, p := range o.Mesh.V {
		at[i] = c.screen(p)
		n[i] = geom.Vec{X: n[i].Dot(c.right), Y: n[i].Dot(c.up), Z: n[i].Dot(c.back)} // as the eye sees it
	}
	cut := o.Cut
	for _, f := range o.Mesh.F {
		t := patch{o: o}
		whole := true
		for k, v := range f {
			t.s[k], t.n[k], t.p[k] = at[v], n[v], o.Mesh.V[v]
			if o.Values != nil {
				t.v[k] = o.Values[v]
			}
		}
		if cut != nil {
			a, b, d := cut(t.p[0]), cut(t.p[1]), cut(t.p[2])
			if a && b && d {
				continue
			}
			whole = !a && !b && !d
		}
		if whole {
			c.patch(&t, nil)
		} else {
			c.patch(&t, cut)
		}
	}
}

// patch is a facet on its way to the picture.
type patch struct {
	o       *Solid
	s, n, p [3]geom.Vec
	v       [3]float64
	back    bool
	steep   float64 // change of the value over one sample
}

// patch fills a facet.
func (c *canvas) patch(t *patch, cut func(geom.Vec) bool) {
	s := &t.s
	d := turnOf(s)
	if d == 0 {
		return
	}
	t.back = d > 0
	dx := ((t.v[1]-t.v[0])*(s[2].Y-s[0].Y) - (t.v[2]-t.v[0])*(s[1].Y-s[0].Y)) / d
	dy := ((t.v[2]-t.v[0])*(s[1].X-s[0].X) - (t.v[1]-t.v[0])*(s[2].X-s[0].X)) / d
	t.steep = math.Max(math.Abs(dx)+math.Abs(dy), 1e-7)
	var hidden func(b, g float64) bool
	if cut != nil {
		hidden = func(b, g float64) bool { return cut(t.p[0].Mul(1 - b - g).Add(t.p[1].Mul(b)).Add(t.p[2].Mul(g))) }
	}
	c.fill(s, hidden, func(x, y int, b, g float64) { c.put(x, y, t.color(b, g)) })
}

func (c *canvas) put(x, y int, v [3]float64) {
	c.img.SetRGBA(x, y, color.RGBA{palette.Byte(v[0]), palette.Byte(v[1]), palette.Byte(v[2]), 255})
}

// keyLight and fillLight come over the viewer's shoulder and from the side.
var (
	keyLight  = geom.V(-0.35, 0.45, 0.85).Unit()
	fillLight = geom.V(0.6, -0.2, 0.6).Unit()
)

// color shades a place of a facet as the page does.
func (t *patch) color(b, g float64) [3]float64 {
	n := t.n[0].Mul(1 - b - g).Add(t.n[1].Mul(b)).Add(t.n[2].Mul(g)).Unit()
	if t.back {
		n = n.Neg()
	}
	key, fill := math.Max(0, n.Dot(keyLight)), math.Max(0, n.Dot(fillLight))
	value := t.v[0]*(1-b-g) + t.v[1]*b + t.v[2]*g
	mapped := t.o.Values != nil && !math.IsNaN(value)
	light, c := 0.40+0.52*key+0.16*fill, tooth
	switch {
	case mapped:
		s := palette.At((value - t.o.Span.Min) / (t.o.Span.Max - t.o.Span.Min))
		c = [3]float64{float64(s.R) / 255, float64(s.G) / 255, float64(s.B) / 255}
		light = 0.72 + 0.26*key + 0.06*fill
	case t.back:
		light = 0.62 + 0.1*key // the inside of what was cut away: flat
	}
	for k := range c {
		c[k] *= light
	}
	if mapped {
		c = t.contour(c, value)
	}
	return c
}

// contour draws the limit as a dark line with a light rim, of the same width
// whatever the slope of the value.
func (t *patch) contour(c [3]float64, value float64) [3]float64 {
	d := math.Inf(1)
	for _, l := range t.o.Limits {
		d = math.Min(d, math.Abs(value-l)/t.steep/over)
	}
	for k := range c {
		c[k] = palette.Mix(paper[k], c[k], smooth(1.9, 2.7, d))
		c[k] = palette.Mix(ink[k], c[k], smooth(0.9, 1.5, d))
	}
	return c
}

// smooth rises from 0 at a to 1 at b.
func smooth(a, b, x float64) float64 {
	u := math.Min(1, math.Max(0, (x-a)/(b-a)))
	return u * u * (3 - 2*u)
}

// bias, mm, lifts a curve off the surface that it lies on.
const bias = 0.12

// curve draws a line as a row of dots.
func (c *canvas) curve(l Curve) {
	n := len(l.Points)
	last := n - 1
	if l.Closed {
		last = n
	}
	for i := 0; i < last; i++ {
		a, b := c.screen(l.Points[i]), c.screen(l.Points[(i+1)%n])
		steps := int(math.Ceil(2*math.Hypot(b.X-a.X, b.Y-a.Y))) + 1
		for k := range steps {
			u := float64(k) / float64(steps)
			c.dot(a.Add(b.Sub(a).Mul(u)), l.Width*over/2, l.Color)
		}
	}
}

func (c *canvas) dot(p geom.Vec, r float64, col color.RGBA) {
	for y := int(p.Y - r); y <= int(p.Y+r); y++ {
		for x := int(p.X - r); x <= int(p.X+r); x++ {
			if x < 0 || y < 0 || x >= c.w || y >= c.h || math.Hypot(float64(x)+0.5-p.X, float64(y)+0.5-p.Y) > r {
				continue
			}
			if p.Z+bias > c.depth[y*c.w+x] {
				c.img.SetRGBA(x, y, col)
			}
		}
	}
}

// shrink takes the mean of each pixel's samples.
func shrink(in *image.RGBA) *image.RGBA {
	w, h := in.Rect.Dx()/over, in.Rect.Dy()/over
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			for k := range 4 {
				sum := 0
				for j := range over * over {
					sum += int(in.Pix[in.PixOffset(x*over+j%over, y*over+j/over)+k])
				}
				out.Pix[out.PixOffset(x, y)+k] = uint8((sum + over*over/2) / (over * over))
			}
		}
	}
	return out
}
