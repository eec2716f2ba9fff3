package bvh

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// referenceFolder holds a script on three-mesh-bvh 0.9.17 and three 0.187, a
// general-purpose library from npm.
const referenceFolder = "testdata/reference"

// referenceNear is how near the two must agree, mm: three keeps vertices as
// float32, so the mesh is made of such numbers, and its arithmetic is float64.
const referenceNear = 1e-5

type referenceJob struct {
	Vertices [][3]float64    `json:"vertices"`
	Facets   [][3]int32      `json:"facets"`
	Points   [][3]float64    `json:"points"`
	Rays     [][2][3]float64 `json:"rays"`
}

type referenceAnswer struct {
	Closest []float64  `json:"closest"`
	Rays    []*float64 `json:"rays"`
}

func array(v geom.Vec) [3]float64 { return [3]float64{v.X, v.Y, v.Z} }

// lumps is a closed star-shaped surface with bumps, vertices float32.
func lumps(n int) *mesh.Mesh {
	m := &mesh.Mesh{}
	at := func(i, j int) int32 { return int32(i*n + j%n) }
	for i := range n {
		for j := range n {
			p, a := math.Pi*(float64(i)+0.5)/float64(n), 2*math.Pi*float64(j)/float64(n)
			r := 5 + 0.8*math.Sin(3*p)*math.Cos(4*a) + 0.3*math.Cos(9*a+5*p)
			f := func(x float64) float64 { return float64(float32(x)) }
			m.V = append(m.V, geom.V(f(r*math.Sin(p)*math.Cos(a)), f(r*math.Sin(p)*math.Sin(a)), f(r*math.Cos(p))))
		}
	}
	for i := range n - 1 {
		for j := range n {
			m.F = append(m.F, [3]int32{at(i, j), at(i+1, j), at(i+1, j+1)}, [3]int32{at(i, j), at(i+1, j+1), at(i, j+1)})
		}
	}
	return m
}

// Nearest points and ray hits agree with three-mesh-bvh.
func TestReference(t *testing.T) {
	if testing.Short() {
		t.Skip("runs a program on Node")
	}
	if _, err := os.Stat(referenceFolder + "/node_modules/three-mesh-bvh"); err != nil {
		t.Fatalf("the reference library is not installed: run make test, or npm ci in bvh/%s", referenceFolder)
	}
	m := lumps(160)
	job := referenceJob{Facets: m.F}
	for _, v := range m.V {
		job.Vertices = append(job.Vertices, array(v))
	}
	rng := rand.New(rand.NewPCG(7, 1))
	vec := func(s float64) geom.Vec {
		return geom.V(s*(2*rng.Float64()-1), s*(2*rng.Float64()-1), s*(2*rng.Float64()-1))
	}
	for range 5000 {
		job.Points = append(job.Points, array(vec(8)))
		o := vec(1).Unit().Mul(15)
		job.Rays = append(job.Rays, [2][3]float64{array(o), array(vec(6.5).Sub(o).Unit())})
	}
	compareReference(t, New(m), job, askReference(t, job))
}

func askReference(t *testing.T, job referenceJob) referenceAnswer {
	t.Helper()
	in, err := json.Marshal(job)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("node", "closest.mjs")
	cmd.Dir, cmd.Stdin, cmd.Stderr = referenceFolder, bytes.NewReader(in), os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("run node on the reference script: %v", err)
	}
	var a referenceAnswer
	if err := json.Unmarshal(out, &a); err != nil {
		t.Fatal(err)
	}
	return a
}

func compareReference(t *testing.T, tree *Tree, job referenceJob, want referenceAnswer) {
	t.Helper()
	vec := func(p [3]float64) geom.Vec { return geom.V(p[0], p[1], p[2]) }
	for i, p := range job.Points {
		h, _ := tree.Closest(vec(p), math.Inf(1))
		if got := math.Sqrt(h.DistSq); math.Abs(got-want.Closest[i]) > referenceNear {
			t.Errorf("closest(%v) = %.9f, reference %.9f", p, got, want.Closest[i])
		}
	}
	other := 0
	for i, r := range job.Rays {
		h, ok := tree.Ray(vec(r[0]), vec(r[1]), math.Inf(1))
		if ok != (want.Rays[i] != nil) || ok && math.Abs(h.T-*want.Rays[i]) > referenceNear {
			other++ // the reference is not watertight: a ray through an edge may slip past it
		}
	}
	if other > len(job.Rays)/1000 {
		t.Errorf("%d of %d rays differ from the reference", other, len(job.Rays))
	}
}
