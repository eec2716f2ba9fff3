package phantom

import (
	"context"
	"image"
	"os"
	"slices"
	"testing"
	"time"

	"crownassay/geom"
	"crownassay/internal/render"
	"crownassay/mesh"
)

// TestLookCrown writes pictures of a crown to the folder PHANTOM_LOOK names.
func TestLookCrown(t *testing.T) {
	dir := os.Getenv("PHANTOM_LOOK")
	if dir == "" {
		t.Skip("set PHANTOM_LOOK to a folder to get pictures")
	}
	tooth := os.Getenv("PHANTOM_TOOTH")
	t0 := time.Now()
	c, err := Build(context.Background(), Spec{Tooth: tooth, Seed: 1, Tall: 1.5, Crown: &Crown{}})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d facets in %v", len(c.Crown.F), time.Since(t0))
	var ids []string
	for id := range c.Truth.Readings {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	for _, id := range ids {
		t.Logf("%-34s %9.4f", id, c.Truth.Readings[id])
	}
	f := c.model.target.frame
	shot := func(name string, v render.View, ms ...*mesh.Mesh) {
		w, err := os.Create(dir + "/" + name + ".png")
		if err != nil {
			t.Fatal(err)
		}
		defer w.Close()
		v.Pixels = image.Pt(800, 600)
		if err := render.Render(w, ms, v); err != nil {
			t.Fatal(err)
		}
	}
	at := f.o.Add(f.z.Mul(4))
	shot(tooth+"-crown-top", render.View{Toward: f.z.Neg(), Up: f.b.Neg(), Span: 16, Center: at}, c.Crown)
	shot(tooth+"-crown-buccal", render.View{Toward: f.b.Neg().Sub(f.z.Mul(0.35)), Up: f.z, Span: 16, Center: at}, c.Crown)
	shot(tooth+"-crown-below", render.View{Toward: f.z.Add(f.b.Mul(0.3)), Up: f.b, Span: 16, Center: at}, c.Crown)
	shot(tooth+"-crown-arch", render.View{Toward: f.b.Neg().Sub(f.z.Mul(0.5)), Up: f.z, Span: 30, Center: at}, c.Prepared, c.Crown)
	_ = geom.Vec{}
}
