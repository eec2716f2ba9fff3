package meshio

import (
	"bytes"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"

	"crownassay/mesh"
)

// sphereFile writes a sphere of 327,680 facets as binary STL, in the order of
// the subdivision or shuffled.
func sphereFile(b *testing.B, shuffled bool) string {
	m := geodesic(128, 10, true)
	if shuffled {
		f := slices.Clone(m.F)
		rand.New(rand.NewPCG(1, 2)).Shuffle(len(f), func(i, j int) { f[i], f[j] = f[j], f[i] })
		m = &mesh.Mesh{V: m.V, F: f}
	}
	path := filepath.Join(b.TempDir(), "sphere.stl")
	if err := WriteFile(path, m); err != nil {
		b.Fatal(err)
	}
	return path
}

// BenchmarkReadSTL reads and welds 327,680 facets from a file.
func BenchmarkReadSTL(b *testing.B) {
	for _, c := range []struct {
		name     string
		shuffled bool
	}{{"ordered", false}, {"shuffled", true}} {
		b.Run(c.name, func(b *testing.B) {
			path := sphereFile(b, c.shuffled)
			for b.Loop() {
				f, err := Read(path)
				if err != nil || len(f.Mesh.V) != 10*128*128+2 {
					b.Fatal(err, len(f.Mesh.V))
				}
			}
		})
	}
}

// BenchmarkDecode reads the same sphere of 20,480 facets in each format.
func BenchmarkDecode(b *testing.B) {
	m := geodesic(32, 10, true)
	for _, e := range encoders {
		var buf bytes.Buffer
		if err := e.write(&buf, m); err != nil {
			b.Fatal(err)
		}
		b.Run(e.name, func(b *testing.B) {
			b.SetBytes(int64(buf.Len()))
			for b.Loop() {
				if _, err := Decode(buf.Bytes(), "sphere"); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkDescribe is all that `crownassay surface` does after reading.
func BenchmarkDescribe(b *testing.B) {
	f, err := Read(sphereFile(b, false))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		f.Describe()
	}
}
