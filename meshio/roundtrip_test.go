package meshio

import (
	"bytes"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// encoders are all that can be written, by the format it reads back as.
var encoders = []struct {
	name  string
	write func(io.Writer, *mesh.Mesh) error
}{
	{STLBinary, WriteSTL},
	{STLASCII, WriteSTLASCII},
	{PLYBinaryLE, func(w io.Writer, m *mesh.Mesh) error { return WritePLY(w, m, false) }},
	{PLYASCII, func(w io.Writer, m *mesh.Mesh) error { return WritePLY(w, m, true) }},
	{OBJ, WriteOBJ},
}

func sameMesh(a, b *mesh.Mesh) bool { return slices.Equal(a.V, b.V) && slices.Equal(a.F, b.F) }

// decoded fails the test unless data decodes.
func decoded(t *testing.T, data []byte) *File {
	t.Helper()
	f, err := Decode(data, "file")
	if err != nil {
		t.Fatalf("Decode: %v", err)
	}
	return f
}

func TestRoundTrip(t *testing.T) {
	m := geodesic(5, 7, true)
	for _, e := range encoders {
		var buf bytes.Buffer
		if err := e.write(&buf, m); err != nil {
			t.Fatal(err)
		}
		f := decoded(t, buf.Bytes())
		if f.Format != e.name || len(f.Notes) > 0 {
			t.Errorf("%s: read as %s with notes %q", e.name, f.Format, f.Notes)
		}
		// STL numbers vertices by first sight, which is how the sphere numbers them.
		if !sameMesh(f.Mesh, m) {
			t.Errorf("%s: the mesh came back changed", e.name)
		}
	}
}

func TestWriteFile(t *testing.T) {
	dir := t.TempDir()
	m := geodesic(2, 7, true)
	for _, name := range []string{"a.stl", "b.PLY", "c.obj"} {
		path := filepath.Join(dir, name)
		if err := WriteFile(path, m); err != nil {
			t.Fatal(err)
		}
		f, err := Read(path)
		if err != nil || !sameMesh(f.Mesh, m) {
			t.Errorf("%s: err %v", name, err)
		}
	}
	if err := WriteFile(filepath.Join(dir, "d.xyz"), m); err == nil || !strings.Contains(err.Error(), ".stl") {
		t.Errorf("unknown ending: %v", err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, ".writing-*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestWriteSTLRefusesTooLarge(t *testing.T) {
	m := &mesh.Mesh{V: []geom.Vec{{X: 1e39}, {Y: 1}, {Z: 1}}, F: [][3]int32{{0, 1, 2}}}
	if err := WriteSTL(io.Discard, m); err == nil {
		t.Error("a coordinate beyond float32 was written")
	}
}
