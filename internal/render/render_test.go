package render

import (
	"bytes"
	"image"
	"image/png"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// tile is a square of side 2 in the xy plane that faces +z.
func tile() *mesh.Mesh {
	return &mesh.Mesh{V: []geom.Vec{{X: -1, Y: -1}, {X: 1, Y: -1}, {X: 1, Y: 1}, {X: -1, Y: 1}},
		F: [][3]int32{{0, 1, 2}, {0, 2, 3}}}
}

func draw(t *testing.T, toward geom.Vec, span float64) image.Image {
	t.Helper()
	var b bytes.Buffer
	v := View{Toward: toward, Up: geom.V(0, 1, 0), Pixels: image.Pt(100, 100), Span: span}
	if err := Render(&b, []*mesh.Mesh{tile()}, v); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// A square of 2 mm in a picture 4 mm wide covers a quarter of it.
func TestScale(t *testing.T) {
	img := draw(t, geom.V(0, 0, -1), 4)
	back := img.At(0, 0)
	n := 0
	for y := range 100 {
		for x := range 100 {
			if img.At(x, y) != back {
				n++
			}
		}
	}
	if n < 2450 || n > 2550 {
		t.Errorf("square covers %d pixels, want 2500", n)
	}
}

// Seen from behind it is bluish.
func TestBehindShows(t *testing.T) {
	r, _, b, _ := draw(t, geom.V(0, 0, -1), 4).At(50, 50).RGBA()
	if b >= r {
		t.Errorf("front: red %d, blue %d", r>>8, b>>8)
	}
	r, _, b, _ = draw(t, geom.V(0, 0, 1), 4).At(50, 50).RGBA()
	if b <= r {
		t.Errorf("behind: red %d, blue %d", r>>8, b>>8)
	}
}

func TestRefuses(t *testing.T) {
	if err := Render(&bytes.Buffer{}, nil, View{Toward: geom.V(0, 0, -1)}); err == nil {
		t.Error("no mesh gave no error")
	}
}
