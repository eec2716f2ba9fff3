package meshio

import (
	"bytes"
	"encoding/json"
	"image/color"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"crownassay/geom"
)

// coloredReference holds the official validator of glTF 2.0 and a
// general-purpose reader of PLY.
const coloredReference = "testdata/reference"

// colored is a ball whose value is its height; the lowest vertices have none.
func colored() *Colored {
	m := geodesic(3, 7, true)
	c := &Colored{Mesh: m, Name: "preparation.clearance.occlusal", Unit: "mm", Up: geom.V(0, 1, 0), Right: geom.V(0, 0, 1)}
	for _, v := range m.V {
		x := v.Z
		if v.Z < -6 {
			x = math.NaN()
		}
		c.Values = append(c.Values, x)
		c.Colors = append(c.Colors, color.RGBA{uint8(128 + 10*v.X), uint8(128 + 10*v.Y), uint8(128 + 10*v.Z), 255})
	}
	return c
}

// ask writes the mesh and has the reference look at it.
func ask(t *testing.T, kind string, write func(io.Writer, *Colored) error, out any) {
	t.Helper()
	if _, err := os.Stat(filepath.Join(coloredReference, "node_modules", "gltf-validator")); err != nil {
		t.Fatalf("the validator is not installed: run  npm ci  in meshio/%s, or  make test  (%v)", coloredReference, err)
	}
	var b bytes.Buffer
	if err := write(&b, colored()); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "ball."+kind)
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("node", "validate.mjs", kind, path)
	cmd.Dir, cmd.Stderr = coloredReference, os.Stderr
	text, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, out); err != nil {
		t.Fatal(err, string(text))
	}
}

// TestGLBAgainstTheOfficialValidator: no error and no warning.
func TestGLBAgainstTheOfficialValidator(t *testing.T) {
	var got struct {
		Errors, Warnings, Vertices, Triangles int
		Messages                              []string
	}
	ask(t, "glb", WriteGLB, &got)
	c := colored()
	if got.Errors+got.Warnings > 0 || got.Vertices != len(c.Mesh.V) || got.Triangles != len(c.Mesh.F) {
		t.Errorf("%d errors, %d warnings, %d vertices, %d triangles:\n%s", got.Errors, got.Warnings, got.Vertices, got.Triangles, strings.Join(got.Messages, "\n"))
	}
}

// TestColoredPLYAgainstALibrary reads every vertex back elsewhere.
func TestColoredPLYAgainstALibrary(t *testing.T) {
	var got struct {
		Position, Color []float64
		Measured        []*float64
		Triangles       int
	}
	ask(t, "ply", WriteColoredPLY, &got)
	c := colored()
	if got.Triangles != len(c.Mesh.F) || len(got.Measured) != len(c.Mesh.V) {
		t.Fatalf("%d triangles and %d values, want %d and %d", got.Triangles, len(got.Measured), len(c.Mesh.F), len(c.Mesh.V))
	}
	for i, v := range c.Mesh.V {
		for k, x := range []float64{v.X, v.Y, v.Z} {
			if math.Abs(got.Position[3*i+k]-x) > 1e-6 { // mm; the library holds float32
				t.Fatalf("vertex %d lies at %v, want %v", i, got.Position[3*i:3*i+3], v)
			}
		}
		for k, x := range []uint8{c.Colors[i].R, c.Colors[i].G, c.Colors[i].B} {
			if math.Abs(got.Color[3*i+k]-255*linear(float64(x)/255)) > 1 { // the library holds colours linear, as bytes
				t.Fatalf("vertex %d has the colour %v, want that of %v", i, got.Color[3*i:3*i+3], c.Colors[i])
			}
		}
		if none := math.IsNaN(c.Values[i]); none != (got.Measured[i] == nil) || !none && math.Abs(*got.Measured[i]-c.Values[i]) > 1e-6 {
			t.Fatalf("vertex %d has another value than %v", i, c.Values[i])
		}
	}
}

// TestColoredPLYReadsBack: this package's own reader takes it as a mesh.
func TestColoredPLYReadsBack(t *testing.T) {
	var b bytes.Buffer
	c := colored()
	if err := WriteColoredPLY(&b, c); err != nil {
		t.Fatal(err)
	}
	if f := decoded(t, b.Bytes()); !sameMesh(f.Mesh, c.Mesh) {
		t.Error("it reads back as another mesh")
	}
	c.Values = c.Values[1:]
	if err := WriteGLB(&b, c); err == nil {
		t.Error("a value too few was written")
	}
}

// TestGLBStandsUpright: up goes to y, right to x, and mm to m.
func TestGLBStandsUpright(t *testing.T) {
	c := colored()
	m := c.matrix()
	at := func(p geom.Vec) geom.Vec {
		row := func(k int) float64 { return m[k]*p.X + m[4+k]*p.Y + m[8+k]*p.Z }
		return geom.V(row(0), row(1), row(2))
	}
	for name, v := range map[string][2]geom.Vec{"up": {c.Up, geom.V(0, 1e-3, 0)}, "right": {c.Right, geom.V(1e-3, 0, 0)}} {
		if got := at(v[0]); got.Sub(v[1]).Norm() > 1e-15 {
			t.Errorf("%s goes to %v, want %v", name, got, v[1])
		}
	}
	if x, y, z := at(geom.V(1, 0, 0)), at(geom.V(0, 1, 0)), at(geom.V(0, 0, 1)); x.Cross(y).Dot(z) <= 0 {
		t.Error("the matrix mirrors")
	}
}
