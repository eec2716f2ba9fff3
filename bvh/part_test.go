package bvh

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// A part of a tree answers as a tree built over the part's mesh: a half, single
// facets here and there, none, all.
func TestPart(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 9))
	m := lumpy(30)
	whole := New(m)
	for name, keep := range map[string]func(f int) bool{
		"half": func(f int) bool { a, b, c := m.Corner(int32(f)); return a.Add(b).Add(c).X > 0 },
		"some": func(int) bool { return r.IntN(9) == 0 },
		"none": func(int) bool { return false },
		"all":  func(int) bool { return true },
	} {
		to, p := make([]int32, len(m.F)), &mesh.Mesh{V: m.V}
		for f, c := range m.F {
			if to[f] = -1; keep(f) {
				to[f] = int32(len(p.F))
				p.F = append(p.F, c)
			}
		}
		part, built := whole.Part(p, mesh.Adjacent(p), to), New(p)
		for _, q := range probes(m, 300, r) {
			got, ok := part.Signed(q, math.Inf(1))
			want, wantOk := built.Signed(q, math.Inf(1))
			if got != want || ok != wantOk {
				t.Fatalf("%s: nearest to %v: %v, %v, want %v, %v", name, q, got, ok, want, wantOk)
			}
			d := geom.V(r.NormFloat64(), r.NormFloat64(), r.NormFloat64())
			ray, hit := part.Ray(q, d, math.Inf(1))
			wantRay, wantHit := built.Ray(q, d, math.Inf(1))
			if ray != wantRay || hit != wantHit {
				t.Fatalf("%s: ray from %v along %v: %v, %v, want %v, %v", name, q, d, ray, hit, wantRay, wantHit)
			}
			pl := geom.PlaneThrough(q, d.Unit())
			if got, want := part.Section(pl), built.Section(pl); !reflect.DeepEqual(got, want) {
				t.Fatalf("%s: section by %v: %v, want %v", name, pl, got, want)
			}
		}
	}
}
