package bvh

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
)

// The benchmarks run on one thread, on a closed surface of 200,000 facets and
// 12 mm, with a hundred thousand queries within 0.5 mm of it in no order. Each
// reports the time for one query.

const benchQueries = 100000

func benchMesh() *mesh.Mesh { return lumpy(224) }

// oneThread keeps the work on one thread until the benchmark ends.
func oneThread(b *testing.B) {
	w := par.Workers
	par.Workers = 1
	b.Cleanup(func() { par.Workers = w })
}

// perQuery runs f, which answers n queries, and reports the time for one.
func perQuery(b *testing.B, n int, f func() error) {
	b.ReportAllocs()
	if err := f(); err != nil { // makes what is made at the first query
		b.Fatal(err)
	}
	for b.Loop() {
		if err := f(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/query")
}

func BenchmarkClosest(b *testing.B) {
	oneThread(b)
	m := benchMesh()
	t, ps, out := New(m), nearPoints(m, benchQueries, rand.New(rand.NewPCG(8, 1))), make([]Hit, benchQueries)
	perQuery(b, len(ps), func() error { return t.ClosestAll(context.Background(), ps, math.Inf(1), out) })
}

func BenchmarkSigned(b *testing.B) {
	oneThread(b)
	m := benchMesh()
	t, ps, out := New(m), nearPoints(m, benchQueries, rand.New(rand.NewPCG(8, 2))), make([]SignedHit, benchQueries)
	perQuery(b, len(ps), func() error { return t.SignedAll(context.Background(), ps, math.Inf(1), out) })
}

func BenchmarkRays(b *testing.B) {
	oneThread(b)
	m := benchMesh()
	t, rays, out := New(m), lumpyRays(benchQueries, rand.New(rand.NewPCG(8, 3))), make([]RayHit, benchQueries)
	perQuery(b, len(rays), func() error { return t.RayAll(context.Background(), rays, math.Inf(1), out) })
}

func BenchmarkSections(b *testing.B) {
	oneThread(b)
	t, planes, out := New(benchMesh()), make([]geom.Plane, 360), make([][]Polyline, 360)
	for i := range planes {
		s, c := math.Sincos(float64(i) * math.Pi / 180)
		planes[i] = geom.PlaneThrough(geom.V(0.01, 0.02, 0.03), geom.V(c, s, 0))
	}
	perQuery(b, len(planes), func() error { return t.SectionAll(context.Background(), planes, geom.V(0, 0, 3), 5, out) })
}

// BenchmarkBuild is the tree alone; what nearest points and signs need beside
// it is made at the first such query, BenchmarkNearness and BenchmarkSigns.
func BenchmarkBuild(b *testing.B) {
	oneThread(b)
	m := benchMesh()
	for b.Loop() {
		New(m)
	}
}

func BenchmarkNearness(b *testing.B) {
	oneThread(b)
	t := New(benchMesh())
	for b.Loop() {
		t.newNearness()
	}
}

func BenchmarkSigns(b *testing.B) {
	m := benchMesh()
	for b.Loop() {
		newPseudonormals(m, mesh.Adjacent(m))
	}
}
