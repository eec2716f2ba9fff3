package bvh

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// referenceFolder holds a script over the libraries three and three-mesh-bvh
// (MIT), versions pinned in its package.json.
const referenceFolder = "testdata/reference"

// referenceTol is in millimetres. The library holds vertices and boxes as
// float32 but computes in float64, and the mesh's vertices are float32 numbers
// here, so only rounding of float64 at coordinates under 15 may differ; rays
// that graze the surface magnify it some thousandfold.
const referenceTol = 1e-10

// Nearest points and first hits agree with a general-purpose library that
// shares no code with this one.
func TestAgainstGeneralPurposeLibrary(t *testing.T) {
	if testing.Short() {
		t.Skip("runs node")
	}
	r := rand.New(rand.NewPCG(7, 1))
	m := rounded(lumpy(60))
	tree := New(m)
	points, rays := nearPoints(m, 4000, r), lumpyRays(4000, r)
	for range 500 {
		points = append(points, randVec(r, 5))
	}
	dist, ts := askReference(t, m, points, rays)
	for i, p := range points {
		h, _ := tree.Closest(p, math.Inf(1))
		if got := math.Sqrt(h.DistSq); !within(got, dist[i], referenceTol) {
			t.Errorf("Closest(%v): distance %.9f, library %.9f (seed 7, 1)", p, got, dist[i])
		}
	}
	hits := 0
	for i, ray := range rays {
		h, ok := tree.Ray(ray.Origin, ray.Dir, math.Inf(1))
		if ok != (ts[i] >= 0) || ok && !within(h.T, ts[i], referenceTol) {
			t.Errorf("Ray(%v) = %.9f, %v, library %.9f (seed 7, 1)", ray, h.T, ok, ts[i])
		}
		if ok {
			hits++
		}
	}
	if hits < len(rays)/2 || hits == len(rays) {
		t.Errorf("%d of %d rays hit: no test of both", hits, len(rays))
	}
}

// rounded has the vertices of m as a float32 buffer holds them.
func rounded(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{F: m.F}
	for _, v := range m.V {
		out.V = append(out.V, geom.V(float64(float32(v.X)), float64(float32(v.Y)), float64(float32(v.Z))))
	}
	return out
}

// nearPoints lie within 0.5 mm of m's facets.
func nearPoints(m *mesh.Mesh, n int, r *rand.Rand) []geom.Vec {
	ps := make([]geom.Vec, n)
	for i := range ps {
		a, b, c := m.Corner(int32(r.IntN(len(m.F))))
		u, v := math.Sqrt(r.Float64()), r.Float64()
		on := a.Mul(1 - u).Add(b.Mul(u * (1 - v))).Add(c.Mul(u * v))
		ps[i] = on.Add(geom.TriangleNormal(a, b, c).Unit().Mul(r.Float64() - 0.5))
	}
	return ps
}

// lumpyRays come from a ball of 15 mm and aim at a ball of 6.5 mm, so that
// about three in four hit the lumpy surface.
func lumpyRays(n int, r *rand.Rand) []Ray {
	rays := make([]Ray, n)
	for i := range rays {
		o := randVec(r, 1).Unit().Mul(15)
		to := randVec(r, 1).Unit().Mul(6.5 * math.Cbrt(r.Float64()))
		rays[i] = Ray{o, to.Sub(o).Unit()}
	}
	return rays
}

// askReference returns the library's distances of the points and of the rays'
// first hits.
func askReference(t *testing.T, m *mesh.Mesh, points []geom.Vec, rays []Ray) (dist, ts []float64) {
	t.Helper()
	if _, err := os.Stat(filepath.Join(referenceFolder, "node_modules", "three-mesh-bvh")); err != nil {
		t.Fatalf("the reference library is not installed: run  npm ci  in bvh/%s, or  make test  (%v)", referenceFolder, err)
	}
	var in bytes.Buffer
	put := func(x any) { binary.Write(&in, binary.LittleEndian, x) }
	put([]int32{int32(len(m.V)), int32(len(m.F)), int32(len(points)), int32(len(rays))})
	for _, v := range m.V {
		put([]float32{float32(v.X), float32(v.Y), float32(v.Z)})
	}
	put(m.F)
	put(points)
	put(rays)
	cmd := exec.Command("node", "reference.mjs")
	cmd.Dir, cmd.Stdin, cmd.Stderr = referenceFolder, &in, os.Stderr
	answer, err := cmd.Output()
	if err != nil {
		t.Fatalf("run node (version 20 or later must be installed): %v", err)
	}
	out := make([]float64, len(points)+len(rays))
	if err := binary.Read(bytes.NewReader(answer), binary.LittleEndian, out); err != nil {
		t.Fatalf("read the library's answer: %v", err)
	}
	return out[:len(points)], out[len(points):]
}
