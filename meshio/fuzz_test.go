package meshio

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// checkRoundTrip decodes data; what comes out must be sound, and must come
// back the same from every encoder that can hold it.
func checkRoundTrip(t *testing.T, data []byte) {
	f, err := Decode(data, "fuzz")
	if err != nil {
		if f != nil || !strings.HasPrefix(err.Error(), "read fuzz") {
			t.Fatalf("error %q with file %v", err, f)
		}
		return
	}
	checkSound(t, f.Mesh)
	f.Describe()
	for _, e := range encoders {
		want := asKept(f.Mesh, e.name)
		var b bytes.Buffer
		if err := e.write(&b, want); err != nil {
			t.Fatalf("%s: %v", e.name, err)
		}
		g, err := Decode(b.Bytes(), "again")
		if err != nil {
			t.Fatalf("%s written from %s does not read: %v", e.name, f.Format, err)
		}
		if g.Format != e.name || !sameMesh(g.Mesh, want) {
			t.Fatalf("%s written from %s came back changed as %s", e.name, f.Format, g.Format)
		}
	}
}

// checkSound: indices in range, coordinates finite, no two vertices the same.
func checkSound(t *testing.T, m *mesh.Mesh) {
	seen := map[geom.Vec]bool{}
	for i, v := range m.V {
		if !v.Finite() || seen[v] || math.Signbit(v.X) && v.X == 0 {
			t.Fatalf("vertex %d = %v", i, v)
		}
		seen[v] = true
	}
	for i, c := range m.F {
		if min(c[0], c[1], c[2]) < 0 || int(max(c[0], c[1], c[2])) >= len(m.V) {
			t.Fatalf("facet %d = %v of %d vertices", i, c, len(m.V))
		}
	}
}

// asKept is m as a format keeps it: STL numbers vertices by first sight and
// drops unused ones, binary STL rounds to float32 first.
func asKept(m *mesh.Mesh, format string) *mesh.Mesh {
	if format != STLBinary && format != STLASCII {
		return m
	}
	out := &mesh.Mesh{}
	number := map[geom.Vec]int32{}
	for _, c := range m.F {
		for k := range c {
			v := m.V[c[k]]
			if format == STLBinary {
				v = geom.V(float64(float32(v.X))+0, float64(float32(v.Y))+0, float64(float32(v.Z))+0)
			}
			i, ok := number[v]
			if !ok {
				i = int32(len(out.V))
				number[v] = i
				out.V = append(out.V, v)
			}
			c[k] = i
		}
		out.F = append(out.F, c)
	}
	return out
}

// seeds are the good files of the tests, and the bad ones of a kind.
func seeds(f *testing.F, ending string, good ...[]byte) {
	for _, b := range good {
		f.Add(b)
	}
	for _, b := range badFiles() {
		if strings.HasSuffix(b.name, ending) && len(b.data) < 1<<16 {
			f.Add(b.data)
		}
	}
}

func FuzzSTL(f *testing.F) {
	seeds(f, ".stl", stlBytes("", 3, repeat9(3)...), stlBytes("solid", 7, repeat9(2)...), []byte(oneFacet))
	f.Fuzz(checkRoundTrip)
}

func FuzzSTLASCII(f *testing.F) {
	seeds(f, "-ascii.stl", []byte(oneFacet), []byte(strings.ToUpper(oneFacet)))
	f.Fuzz(func(t *testing.T, data []byte) { checkRoundTrip(t, append([]byte("solid "), data...)) })
}

func FuzzPLY(f *testing.F) {
	seeds(f, ".ply", []byte(cubePLY), []byte(plyCube("vertex", "face")), []byte(plyCube("face", "edge", "vertex")))
	f.Fuzz(checkRoundTrip)
}

func FuzzOBJ(f *testing.F) {
	seeds(f, ".obj", []byte(objCube("%d", "%d//1")), []byte(objCube("-%d")), []byte("v 0 0 0\nv 3 0 0\nv 1 1 0\nv 0 3 0\nf 1 2 3 4 \\\n\n"))
	f.Fuzz(checkRoundTrip)
}

// Fuzz3MF changes the XML within the archive, which bytes of a ZIP would not reach.
func Fuzz3MF(f *testing.F) {
	build := `<resources><object id="1">` + mfTetra + `</object></resources><build><item objectid="1" transform="1 0 0 0 1 0 0 0 1 10 0 0"/></build>`
	f.Add([]byte(build))
	f.Add([]byte(doubling(3)))
	f.Fuzz(func(t *testing.T, content []byte) { checkRoundTrip(t, mf("", string(content))) })
}

// Fuzz3MFZip changes the archive itself.
func Fuzz3MFZip(f *testing.F) {
	seeds(f, ".3mf", mf("", `<resources><object id="1">`+mfTetra+`</object></resources>`))
	f.Fuzz(checkRoundTrip)
}

// TestRepro reads every input that once went wrong; the name says how. All
// are readable.
func TestRepro(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("testdata", "repro", "*"))
	if err != nil || len(files) == 0 {
		t.Fatal("no files", err)
	}
	slices.Sort(files)
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		t.Run(filepath.Base(name), func(t *testing.T) {
			decoded(t, data)
			checkRoundTrip(t, data)
		})
	}
}
