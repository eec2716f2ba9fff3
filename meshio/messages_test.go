package meshio

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"crownassay/geom"
	"crownassay/internal/golden"
	"crownassay/mesh"
)

// stlBytes is a binary STL of the given facets with the count said.
func stlBytes(header string, said uint32, corners ...[9]float32) []byte {
	b := make([]byte, 80, 84+50*len(corners))
	copy(b, header)
	b = binary.LittleEndian.AppendUint32(b, said)
	for _, c := range corners {
		b = append(b, make([]byte, 12)...)
		for _, x := range c {
			b = binary.LittleEndian.AppendUint32(b, math.Float32bits(x))
		}
		b = append(b, 0, 0)
	}
	return b
}

// facet9 is a facet of the plane z = 0.
var facet9 = [9]float32{0, 0, 0, 1, 0, 0, 0, 1, 0}

func repeat9(n int) [][9]float32 {
	f := make([][9]float32, n)
	for i := range f {
		f[i] = facet9
		f[i][2], f[i][5], f[i][8] = float32(i), float32(i), float32(i)
	}
	return f
}

// zipBytes is a ZIP of the given parts, name and content in turn.
func zipBytes(parts ...string) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(parts); i += 2 {
		w, err := z.Create(parts[i])
		if err == nil {
			_, err = w.Write([]byte(parts[i+1]))
		}
		if err != nil {
			panic(err)
		}
	}
	if err := z.Close(); err != nil {
		panic(err)
	}
	return b.Bytes()
}

const mfRels = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">` +
	`<Relationship Target="/3D/3dmodel.model" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>`

// mf is a 3MF with the given content of its model element.
func mf(attrs, content string) []byte {
	return zipBytes("_rels/.rels", mfRels, "3D/3dmodel.model",
		`<?xml version="1.0"?><model xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02" `+attrs+`>`+content+`</model>`)
}

// mfTetra is the mesh of a tetrahedron with volume 1/6.
const mfTetra = `<mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="1" y="0" z="0"/><vertex x="0" y="1" z="0"/><vertex x="0" y="0" z="1"/></vertices>` +
	`<triangles><triangle v1="0" v2="2" v3="1"/><triangle v1="0" v2="1" v3="3"/><triangle v1="0" v2="3" v3="2"/><triangle v1="1" v2="2" v3="3"/></triangles></mesh>`

const plyHead = "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n"

const plyPoints = "ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nproperty float z\nend_header\n0 0 0\n"

const oneFacet = "solid s\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid s\n"

// badFiles are damaged files and files of other kinds.
func badFiles() []struct {
	name string
	data []byte
} {
	s := func(t string) []byte { return []byte(t) }
	nan := repeat9(3)
	nan[1][4] = float32(math.NaN())
	inf := repeat9(1)
	inf[0][8] = float32(math.Inf(-1))
	dicom := append(make([]byte, 128), "DICM\x02\x00"...)
	tar := append(append(make([]byte, 257), "ustar"...), make([]byte, 300)...)
	binaryPLY := strings.Replace(plyHead, "ascii", "binary_little_endian", 1)
	noise := make([]byte, 1000)
	for i := range noise {
		noise[i] = byte(i*i*7 + i>>3 + 1)
	}
	return []struct {
		name string
		data []byte
	}{
		{"empty.stl", nil},
		{"zero-facets.stl", stlBytes("", 0)},
		{"cut-off.stl", stlBytes("", 12, repeat9(12)...)[:84+50*9+17]},
		{"cut-off-in-header.stl", stlBytes("solid made by a scanner\x00", 12)[:60]},
		{"nan.stl", stlBytes("", 3, nan...)},
		{"infinite.stl", stlBytes("", 1, inf...)},
		{"noise.stl", noise},
		{"nothing-but-zeros.stl", make([]byte, 4000)},
		{"no-facets-ascii.stl", s("solid empty\nendsolid empty\n")},
		{"cut-off-ascii.stl", s(oneFacet[:70])},
		{"two-corners-ascii.stl", s(strings.Replace(oneFacet, "vertex 0 1 0\n", "", 1))},
		{"four-corners-ascii.stl", s(strings.Replace(oneFacet, "vertex 0 1 0\n", "vertex 1 1 0\nvertex 0 1 0\n", 1))},
		{"comma-ascii.stl", s(strings.Replace(oneFacet, "vertex 1 0 0", "vertex 1,5 0 0", 1))},
		{"nan-ascii.stl", s(strings.Replace(oneFacet, "vertex 1 0 0", "vertex nan 0 0", 1))},
		{"too-large-ascii.stl", s(strings.Replace(oneFacet, "vertex 1 0 0", "vertex 1e39 0 0", 1))},
		{"stray-word-ascii.stl", s(strings.Replace(oneFacet, "endsolid", "color 1 0 0\nendsolid", 1))},
		{"no-end-of-header.ply", s(plyHead[:60])},
		{"unknown-format.ply", s(strings.Replace(plyHead, "ascii", "utf8", 1))},
		{"unknown-type.ply", s(strings.Replace(plyHead, "float x", "half x", 1))},
		{"stray-statement.ply", s(strings.Replace(plyHead, "element face", "elephant face", 1))},
		{"negative-count.ply", s(strings.Replace(plyHead, "vertex 3", "vertex -3", 1))},
		{"huge-count.ply", s(strings.Replace(plyHead, "vertex 3", "vertex 4000000000", 1) + "0 0 0\n")},
		{"no-z.ply", s(strings.Replace(plyHead, "float z", "float w", 1) + "0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n")},
		{"no-list.ply", s(strings.Replace(plyHead, "list uchar int", "int", 1) + "0 0 0\n1 0 0\n0 1 0\n3\n")},
		{"float-count.ply", s(strings.Replace(plyHead, "list uchar", "list float", 1))},
		{"points-only.ply", s(plyPoints)},
		{"strips.ply", s(strings.Replace(plyHead, "element face", "element tristrips", 1))},
		{"no-vertices.ply", s("ply\nformat ascii 1.0\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n3 0 1 2\n")},
		{"no-faces.ply", s(strings.Replace(plyHead, "face 1", "face 0", 1) + "0 0 0\n1 0 0\n0 1 0\n")},
		{"cut-off.ply", s(plyHead + "0 0 0\n1 0 0\n0 1 0\n3 0 1\n")},
		{"index-out-of-range.ply", s(plyHead + "0 0 0\n1 0 0\n0 1 0\n3 0 1 3\n")},
		{"index-negative.ply", s(plyHead + "0 0 0\n1 0 0\n0 1 0\n3 0 1 -1\n")},
		{"nan.ply", s(plyHead + "0 0 0\n1 NaN 0\n0 1 0\n3 0 1 2\n")},
		{"word.ply", s(plyHead + "0 0 0\n1 x 0\n0 1 0\n3 0 1 2\n")},
		{"cut-off-binary.ply", append(s(binaryPLY), make([]byte, 40)...)},
		{"huge-list-binary.ply", append(append(s(strings.Replace(binaryPLY, "list uchar", "list uint", 1)), make([]byte, 36)...), 0xff, 0xff, 0xff, 0xff, 1, 0, 0, 0)},
		{"no-faces.obj", s("v 0 0 0\nv 1 0 0\nv 0 1 0\n")},
		{"index-zero.obj", s("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 0 1 2\n")},
		{"index-out-of-range.obj", s("v 0 0 0\nv 1 0 0\nv 0 1 0\n\nf 1 2 3\nf 1 2 4\n")},
		{"index-too-far-back.obj", s("v 0 0 0\nv 1 0 0\nv 0 1 0\nf -1 -2 -4\n")},
		{"index-no-number.obj", s("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 x/1\n")},
		{"two-coordinates.obj", s("# made by hand\nv 0 0 0\nv 1 0\n")},
		{"infinite.obj", s("v 0 0 0\nv 1 inf 0\nv 0 1 0\nf 1 2 3\n")},
		{"comments-only.obj", s("# nothing\n\n# at all\n")},
		{"prose.obj", s("Dear colleague, please find the scan attached.\n")},
		{"not-a-3mf.zip", zipBytes("arch.stl", "x")},
		{"cut-off.3mf", mf("", "")[:300]},
		{"no-model-part.3mf", zipBytes("_rels/.rels", mfRels)},
		{"no-model-relationship.3mf", zipBytes("_rels/.rels", strings.Replace(mfRels, "01/3dmodel", "01/thumbnail", 1))},
		{"not-a-model.3mf", zipBytes("_rels/.rels", mfRels, "3D/3dmodel.model", "<html></html>")},
		{"broken-xml.3mf", mf("", "<resources>\n<object></resources>")},
		{"no-objects.3mf", mf("", "")},
		{"unknown-unit.3mf", mf(`unit="cubit"`, "")},
		{"cycle.3mf", mf("", `<resources><object id="1"><components><component objectid="2"/></components></object>
<object id="2"><components><component objectid="1"/></components></object></resources><build><item objectid="1"/></build>`)},
		{"missing-object.3mf", mf("", `<build><item objectid="9"/></build>`)},
		{"index-out-of-range.3mf", mf("", `<resources><object id="1">`+strings.Replace(mfTetra, `v3="3"`, `v3="4"`, 1)+`</object></resources><build><item objectid="1"/></build>`)},
		{"index-negative.3mf", mf("", `<resources><object id="1">`+strings.Replace(mfTetra, `v3="3"`, `v3="-1"`, 1)+`</object></resources>`)},
		{"nan.3mf", mf("", `<resources><object id="1">`+strings.Replace(mfTetra, `x="1"`, `x="nan"`, 1)+`</object></resources>`)},
		{"short-transform.3mf", mf("", `<resources><object id="1">`+mfTetra+`</object></resources><build><item objectid="1" transform="1 0 0 0 1 0"/></build>`)},
		{"bomb.3mf", mf("", strings.Repeat(" ", 8<<20))},
		{"doubling.3mf", mf("", doubling(40))},
		{"picture.png", s("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR")},
		{"picture.jpg", s("\xff\xd8\xff\xe0\x00\x10JFIF")},
		{"letter.pdf", s("%PDF-1.7\n")},
		{"volume.dcm", dicom},
		{"scan.stl.gz", s("\x1f\x8b\x08\x00")},
		{"scene.glb", s("glTF\x02\x00\x00\x00")},
		{"scene.gltf", s(`{"asset":{"version":"2.0"}}`)},
		{"page.html", s("<!DOCTYPE html>\n<html></html>")},
		{"settings.xml", s(`<?xml version="1.0"?><settings/>`)},
		{"drawing.svg", s(`<svg xmlns="http://www.w3.org/2000/svg"/>`)},
		{"part.amf", s(`<?xml version="1.0"?><amf unit="millimeter"/>`)},
		{"part.step", s("ISO-10303-21;\nHEADER;\n")},
		{"files.tar", tar},
		{"files.7z", s("7z\xbc\xaf\x27\x1c\x00\x04")},
		{"mesh.off", s("OFF\n3 1 0\n")},
	}
}

// doubling is a chain of n objects, each of them the one before, twice.
func doubling(n int) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<resources><object id="0">%s</object>`, mfTetra)
	for i := 1; i <= n; i++ {
		fmt.Fprintf(&b, `<object id="%d"><components><component objectid="%d"/><component objectid="%d"/></components></object>`, i, i-1, i-1)
	}
	fmt.Fprintf(&b, `</resources><build><item objectid="%d"/></build>`, n)
	return b.String()
}

// TestMessages holds what people are told about every kind of bad file against
// testdata/messages.golden (go test -update renews it).
func TestMessages(t *testing.T) {
	var b strings.Builder
	for _, f := range badFiles() {
		file, err := Decode(f.data, f.name)
		if err == nil {
			t.Errorf("%s: read without complaint: %d facets", f.name, len(file.Mesh.F))
			continue
		}
		var fe *FormatError
		var ue *UnsupportedError
		if !errors.As(err, &fe) && !errors.As(err, &ue) {
			t.Errorf("%s: error of type %T", f.name, err)
		}
		fmt.Fprintln(&b, err)
	}
	golden.Equal(t, "messages.golden", b.String())
}

func TestReadWhatIsNoFile(t *testing.T) {
	dir := t.TempDir()
	if _, err := Read(dir); err == nil || !strings.Contains(err.Error(), "folder") {
		t.Errorf("a folder: %v", err)
	}
	_, err := Read(filepath.Join(dir, "lost.stl"))
	if !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), "lost.stl: there is no such file; check") {
		t.Errorf("a missing file: %v", err)
	}
	if _, err := Read(os.DevNull); err == nil || !strings.Contains(err.Error(), "not a regular file") {
		t.Errorf("a device: %v", err)
	}
}

// TestErrorPlaces checks the places by counting in the inputs: 84 bytes of
// head, then 50 a facet with its first corner after 12.
func TestErrorPlaces(t *testing.T) {
	nan := repeat9(3)
	nan[2][5] = float32(math.NaN()) // corner 2 of facet 3
	_, err := Decode(stlBytes("", 3, nan...), "f")
	var fe *FormatError
	if !errors.As(err, &fe) || fe.Offset != 84+2*50+12+12 {
		t.Errorf("binary STL: %+v", fe)
	}
	_, err = Decode([]byte(plyHead+"0 0 0\n1 NaN 0\n0 1 0\n3 0 1 2\n"), "f")
	if !errors.As(err, &fe) || fe.Line != 11 {
		t.Errorf("ASCII PLY: %+v", fe)
	}
	_, err = Decode([]byte("v 0 0 0\r\nv 1 0 0\rv 0 1 \\\n 0\nf 1 2 9\n"), "f")
	if !errors.As(err, &fe) || fe.Line != 5 {
		t.Errorf("OBJ: %+v", fe)
	}
}

// TestNaNNeverPasses replaces each number of a small file by each kind of
// number that is none.
func TestNaNNeverPasses(t *testing.T) {
	m := &mesh.Mesh{V: []geom.Vec{{X: 2}, {Y: 2}, {Z: 2}}, F: [][3]int32{{0, 1, 2}}}
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300} {
		for k := range 3 {
			v := m.V[k]
			m.V[k].Y = bad
			for _, e := range encoders[1:] {
				var buf bytes.Buffer
				if err := e.write(&buf, m); err != nil {
					t.Fatal(err)
				}
				if _, err := Decode(buf.Bytes(), "f"); err == nil {
					t.Errorf("%s: vertex %d with %g was read", e.name, k, bad)
				}
			}
			m.V[k] = v
		}
	}
}
