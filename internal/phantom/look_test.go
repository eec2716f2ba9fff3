package phantom

import (
	"context"
	"image"
	"os"
	"testing"
	"time"

	"crownassay/geom"
	"crownassay/internal/render"
	"crownassay/mesh"
)

// TestLook writes pictures of a case to the folder PHANTOM_LOOK names.
func TestLook(t *testing.T) {
	dir := os.Getenv("PHANTOM_LOOK")
	if dir == "" {
		t.Skip("set PHANTOM_LOOK to a folder to get pictures")
	}
	tooth := os.Getenv("PHANTOM_TOOTH")
	var look []Defect
	if k := os.Getenv("PHANTOM_DEFECT"); k != "" {
		look = []Defect{{Kind: k, Azimuth: 60}}
	}
	t0 := time.Now()
	c, err := Build(context.Background(), Spec{Tooth: tooth, Seed: 1, Defects: look, FullArch: os.Getenv("PHANTOM_FULL") != ""})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d and %d facets in %v", len(c.Prepared.F), len(c.Opposing.F), time.Since(t0))
	t.Log(c.Truth.Readings, c.Truth.Zones)
	f := c.model.target.frame
	shot := func(name string, ms []*mesh.Mesh, v render.View) {
		w, err := os.Create(dir + "/" + name + ".png")
		if err != nil {
			t.Fatal(err)
		}
		defer w.Close()
		if err := render.Render(w, ms, v); err != nil {
			t.Fatal(err)
		}
	}
	px := image.Pt(800, 600)
	one := []*mesh.Mesh{c.Prepared}
	at := f.o.Add(f.z.Mul(4))
	shot(tooth+"-top", one, render.View{Toward: f.z.Neg(), Up: f.b.Neg(), Pixels: px})
	shot(tooth+"-buccal", one, render.View{Toward: f.b.Neg().Sub(f.z.Mul(0.35)), Up: f.z, Pixels: px})
	shot(tooth+"-lingual", one, render.View{Toward: f.b.Sub(f.z.Mul(0.5)), Up: f.z, Pixels: px})
	shot(tooth+"-near", one, render.View{Toward: f.b.Neg().Sub(f.z.Mul(0.8)).Add(f.m.Mul(0.3)), Up: f.z, Pixels: px, Span: 18, Center: at})
	shot(tooth+"-opp", []*mesh.Mesh{c.Opposing}, render.View{Toward: f.z, Up: f.b, Pixels: px})
	shot(tooth+"-bite", []*mesh.Mesh{c.Prepared, c.Opposing}, render.View{Toward: f.b.Neg(), Up: f.z, Pixels: px})
	_ = geom.Vec{}
}
