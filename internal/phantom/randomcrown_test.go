package phantom

import (
	"context"
	"reflect"
	"testing"
)

// Random crowns can be made on every tooth: closed, not crossing themselves,
// with the contacts that were asked, and clear of the preparation.
func TestRandomCrownsAreSound(t *testing.T) {
	n := uint64(10)
	if testing.Short() {
		n = 3
	}
	for seed := range n {
		s := mustComplete(t, RandomCrown(seed))
		m, err := newModel(context.Background(), s)
		if err != nil {
			t.Fatal(err)
		}
		s.Crown.Triangles = 12000
		r, err := m.newRestoration(context.Background(), s.Crown)
		if err != nil {
			t.Errorf("seed %d tooth %s: %v", seed, s.Tooth, err)
			continue
		}
		shell, err := r.shell(context.Background(), stream(seed, streamCrown))
		if err != nil {
			t.Fatal(err)
		}
		checkShell(t, s.Tooth, shell)
		if n := crossings(shell); n != 0 {
			t.Errorf("seed %d tooth %s: %d pairs of facets cross, want none", seed, s.Tooth, n)
		}
		r.checkSound(t, seed)
	}
}

// checkSound looks at contacts and at the smallest distance over a grid.
func (r *restoration) checkSound(t *testing.T, seed uint64) {
	t.Helper()
	f := &r.model.target.frame
	for i, want := range []*Touch{r.spec.Mesial, r.spec.Distal} {
		if r.sides[i] == nil {
			continue
		}
		w := proximalWindow
		w.azimuth = 180 * degree * float64(i)
		if _, d := r.out.least(r.sides[i], f, w); d < want.Distance-0.01 || d > want.Distance+0.01 {
			t.Errorf("seed %d contact %d: %g, want %g", seed, i, d, want.Distance)
		}
	}
	base := prepared{newPrepSheet(r.model.target.prep)}
	for i := range 24 {
		for k := range 30 {
			if d := r.in.over(base, param{float64(i) * 15 * degree, r.in.lEdge * (float64(k) + 0.5) / 30}); d < 0.015 {
				t.Errorf("seed %d: the cavity comes as near as %g at %d degrees", seed, d, 15*i)
			}
		}
	}
}

// A crown leaves the rest of its case alone.
func TestCrownLeavesTheCaseAlone(t *testing.T) {
	plain := build(t, Spec{Tooth: "24", Triangles: 20000, Seed: 5, Shuffled: true, Noise: 0.01})
	with := build(t, Spec{Tooth: "24", Triangles: 20000, Seed: 5, Shuffled: true, Noise: 0.01, Crown: &Crown{Triangles: 10000}})
	if !reflect.DeepEqual(plain.Prepared, with.Prepared) || !reflect.DeepEqual(plain.Opposing, with.Opposing) {
		t.Error("the scans change with a crown")
	}
	for id, v := range plain.Truth.Readings {
		if with.Truth.Readings[id] != v {
			t.Errorf("%s = %g with a crown, want %g", id, with.Truth.Readings[id], v)
		}
	}
}
