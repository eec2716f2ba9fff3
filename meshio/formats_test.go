package meshio

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// cubePLY is the cube that the description of PLY gives as its example (G.
// Turk, 1994; from memory): 8 vertices, 6 squares, comment lines included.
const cubePLY = `ply
format ascii 1.0
comment made by anonymous
comment this file is a cube
element vertex 8
property float32 x
property float32 y
property float32 z
element face 6
property list uint8 int32 vertex_index
end_header
0 0 0
0 0 1
0 1 1
0 1 0
1 0 0
1 0 1
1 1 1
1 1 0
4 0 1 2 3
4 7 6 5 4
4 0 4 5 1
4 1 5 6 2
4 2 6 7 3
4 3 7 4 0
`

// A unit cube has 12 triangles, 8 vertices, area 6 and volume 1, whatever the
// format says it in.
func TestCubes(t *testing.T) {
	for _, c := range []struct {
		name string
		data string
	}{
		{"PLY of the description", cubePLY},
		{"PLY with CR LF", strings.ReplaceAll(cubePLY, "\n", "\r\n")},
		{"PLY with faces first", plyCube("face", "vertex")},
		{"PLY with other elements", plyCube("edge", "vertex", "face")},
		{"OBJ, every form of corner", objCube("%d", "%d/1", "%d//1", "%d/1/1")},
		{"OBJ, counted from the end", objCube("-%d")},
		{"OBJ, continued lines", strings.ReplaceAll(objCube("%d"), " 5", " \\\n 5")},
		{"OBJ, CR only", strings.ReplaceAll(objCube("%d"), "\n", "\r")},
	} {
		f, err := Decode([]byte(c.data), c.name)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if len(f.Mesh.F) != 12 || len(f.Mesh.V) != 8 || f.Mesh.Area() != 6 || math.Abs(math.Abs(f.Mesh.Volume())-1) > 1e-15 || len(f.Notes) > 0 {
			t.Errorf("%s: %d facets, %d vertices, area %g, volume %g, notes %q", c.name, len(f.Mesh.F), len(f.Mesh.V), f.Mesh.Area(), f.Mesh.Volume(), f.Notes)
		}
	}
}

var cubeQuads = [][4]int{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}}

// plyCube is a big-endian binary PLY of the unit cube with extra properties
// and elements, in the given order.
func plyCube(order ...string) string {
	head := map[string]string{
		"vertex": "element vertex 8\nproperty uchar red\nproperty double x\nproperty short y\nproperty list ushort float weights\nproperty float z\n",
		"face":   "element face 6\nproperty float quality\nproperty list int uint vertex_indices\nproperty char flag\n",
		"edge":   "element edge 2\nproperty int a\nproperty list uchar double b\n",
	}
	body := map[string][]byte{"edge": {0, 0, 0, 1, 0, 0, 0, 0, 2, 1, 0, 0, 0, 0, 0, 0, 0, 0}}
	be := binary.BigEndian
	for i := range 8 {
		b := append(body["vertex"], 255)
		b = be.AppendUint64(b, math.Float64bits(float64(i&1)))
		b = be.AppendUint16(b, uint16(i>>1&1))
		b = append(b, 0, 1, 9, 9, 9, 9)
		body["vertex"] = be.AppendUint32(b, math.Float32bits(float32(i>>2)))
	}
	for _, q := range cubeQuads {
		b := be.AppendUint32(append(body["face"], 1, 2, 3, 4), 4)
		for _, i := range q {
			b = be.AppendUint32(b, uint32(i))
		}
		body["face"] = append(b, 0xFF)
	}
	s, data := "ply\nformat binary_big_endian 1.0\nobj_info test\n", ""
	for _, name := range order {
		s += head[name]
		data += string(body[name])
	}
	return s + "end_header\n" + data
}

// objCube is an OBJ of the unit cube in two groups; each corner of a face is
// written in the next of the forms. A form with a minus sign counts from the end.
func objCube(form ...string) string {
	var b strings.Builder
	b.WriteString("# cube\nmtllib none.mtl\no cube\n")
	for i := range 8 {
		fmt.Fprintf(&b, "v %d %d %d 1.0\n", i&1, i>>1&1, i>>2)
	}
	b.WriteString("vt 0 0\nvn 0 0 1\ng low\n")
	for i, q := range cubeQuads {
		if i == 3 {
			b.WriteString("g high\nusemtl white\ns off\n")
		}
		b.WriteString("f")
		for k, v := range q {
			n := v + 1
			if form[0][0] == '-' {
				n = 8 - v
			}
			fmt.Fprintf(&b, " "+form[k%len(form)], n)
		}
		b.WriteString(" # face\n")
	}
	return b.String()
}

// TestPLYTypes reads one vertex table in each scalar type and byte order.
func TestPLYTypes(t *testing.T) {
	for name, kind := range plyTypes {
		for _, format := range []string{"binary_little_endian", "binary_big_endian", "ascii"} {
			data := fmt.Sprintf("ply\nformat %s 1.0\nelement vertex 3\nproperty %s x\nproperty %s y\nproperty %s z\n"+
				"element face 1\nproperty list uchar %s vertex_indices\nend_header\n", format, name, name, name, name)
			for i, x := range []float64{0, 0, 0, 100, 0, 0, 0, 100, 7, 3, 0, 1, 2} {
				if i == 9 && format != "ascii" {
					data += "\x03"
					continue
				}
				data += plyValue(kind, format, x)
			}
			f, err := Decode([]byte(data), name)
			if err != nil {
				t.Errorf("%s %s: %v", format, name, err)
				continue
			}
			want := []geom.Vec{{}, {X: 100}, {Y: 100, Z: 7}}
			if !slices.Equal(f.Mesh.V, want) || f.Mesh.F[0] != [3]int32{0, 1, 2} {
				t.Errorf("%s %s: read %v %v", format, name, f.Mesh.V, f.Mesh.F)
			}
		}
	}
}

func plyValue(kind plyType, format string, x float64) string {
	if format == "ascii" {
		return fmt.Sprint(x) + "\n"
	}
	u := uint64(x)
	if kind == plyFloat32 {
		u = uint64(math.Float32bits(float32(x)))
	}
	if kind == plyFloat64 {
		u = math.Float64bits(x)
	}
	b := binary.LittleEndian.AppendUint64(nil, u)[:kind.size()]
	if format == "binary_big_endian" {
		slices.Reverse(b)
	}
	return string(b)
}

// TestSTLSize: a binary STL has 80 + 4 + 50 n bytes (common practice since
// the format's first description).
func TestSTLSize(t *testing.T) {
	for _, n := range []int{1, 3} {
		m := geodesic(n, 5, true)
		var b bytes.Buffer
		if err := WriteSTL(&b, m); err != nil {
			t.Fatal(err)
		}
		if b.Len() != 80+4+50*20*n*n {
			t.Errorf("n = %d: %d bytes, want %d", n, b.Len(), 84+50*20*n*n)
		}
	}
}

func TestSTLOddities(t *testing.T) {
	signed := repeat9(2)
	signed[0][1] = float32(math.Copysign(0, -1))
	withAttributes := stlBytes("", 2, repeat9(2)...)
	withAttributes[84+48], withAttributes[84+99] = 0x7F, 0xFF
	shifted := stlBytes("", 2, repeat9(2)...)
	for _, c := range []struct {
		name   string
		data   []byte
		format string
		facets int
		verts  int
		note   string
	}{
		{"begins with solid", stlBytes("solid exported surface", 2, repeat9(2)...), STLBinary, 2, 6, ""},
		{"begins with solid, wrong count", stlBytes("solid facet normal", 9, repeat9(2)...), STLBinary, 2, 6, "counts 9 facets but the file holds 2"},
		{"count too high", stlBytes("", 12, repeat9(10)...), STLBinary, 10, 30, "counts 12 facets but the file holds 10"},
		{"count zero", stlBytes("", 0, repeat9(4)...), STLBinary, 4, 12, "counts 0 facets but the file holds 4"},
		{"count all ones", stlBytes("", 0xFFFFFFFF, repeat9(4)...), STLBinary, 4, 12, "counts 4294967295"},
		{"count too low", stlBytes("", 3, repeat9(4)...), STLBinary, 4, 12, "counts 3 facets but the file holds 4"},
		{"trailing bytes", append(shifted, "checksum"...), STLBinary, 2, 6, "8 bytes after the last facet"},
		{"trailing block that is no facet", append(stlBytes("", 2, repeat9(2)...), bytes.Repeat([]byte{0xEE}, 50)...), STLBinary, 2, 6, "50 bytes after"},
		{"attribute bytes", withAttributes, STLBinary, 2, 6, ""},
		{"minus zero", stlBytes("", 2, signed...), STLBinary, 2, 6, ""},
		{"same facet twice", stlBytes("", 2, facet9, facet9), STLBinary, 2, 3, ""},
		{"ASCII", []byte(oneFacet), STLASCII, 1, 3, ""},
		{"ASCII in capitals, CR LF", []byte(strings.ToUpper(strings.ReplaceAll(oneFacet, "\n", "\r\n"))), STLASCII, 1, 3, ""},
		{"ASCII, two solids, name of many words", []byte("solid facet normal one\n" + oneFacet[8:] + oneFacet), STLASCII, 2, 3, ""},
		{"ASCII, normal is nan", []byte(strings.Replace(oneFacet, "0 0 1", "nan nan nan", 1)), STLASCII, 1, 3, ""},
		{"ASCII, no endsolid", []byte(strings.Replace(oneFacet, "endsolid s", "", 1)), STLASCII, 1, 3, "endsolid is missing"},
		{"ASCII, minus zero", []byte(oneFacet + strings.ReplaceAll(oneFacet, "0", "-0")), STLASCII, 2, 3, ""},
	} {
		f, err := Decode(c.data, c.name)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		notes := strings.Join(f.Notes, "|")
		if f.Format != c.format || len(f.Mesh.F) != c.facets || len(f.Mesh.V) != c.verts ||
			!strings.Contains(notes, c.note) || (c.note == "") != (notes == "") {
			t.Errorf("%s: %s, %d facets, %d vertices, notes %q", c.name, f.Format, len(f.Mesh.F), len(f.Mesh.V), f.Notes)
		}
	}
}

// TestSplitVertices: a cube whose squares each have their own four corners,
// as programs write it that keep normals by vertex, is one closed shell.
func TestSplitVertices(t *testing.T) {
	var b strings.Builder
	for i, q := range cubeQuads {
		for _, v := range q {
			fmt.Fprintf(&b, "v %d %d %d\n", v&1, v>>1&1, v>>2)
		}
		fmt.Fprintf(&b, "f %d %d %d %d\n", 4*i+1, 4*i+2, 4*i+3, 4*i+4)
	}
	m := decoded(t, []byte(b.String())).Mesh
	if len(m.V) != 8 || !mesh.Closed(m, mesh.Adjacent(m)) {
		t.Errorf("%d vertices", len(m.V))
	}
}

// TestPolygons: cutting keeps the area that the shoelace formula gives, and
// every facet turns the way of the polygon.
func TestPolygons(t *testing.T) {
	for _, c := range []struct {
		name string
		p    [][2]float64
	}{
		{"arrow head, reflex corner third", [][2]float64{{0, 0}, {4, 0}, {1, 1}, {0, 4}}},
		{"arrow head, reflex corner first", [][2]float64{{1, 1}, {0, 4}, {0, 0}, {4, 0}}},
		{"L", [][2]float64{{0, 0}, {3, 0}, {3, 1}, {1, 1}, {1, 3}, {0, 3}}},
		{"comb", [][2]float64{{0, 0}, {7, 0}, {7, 3}, {6, 3}, {6, 1}, {5, 1}, {5, 3}, {4, 3}, {4, 1}, {3, 1}, {3, 3}, {2, 3}, {2, 1}, {1, 1}, {1, 3}, {0, 3}}},
		{"square with a hole, cut open", [][2]float64{{0, 0}, {6, 0}, {6, 6}, {0, 6}, {0, 0}, {2, 2}, {2, 4}, {4, 4}, {4, 2}, {2, 2}}},
		{"corners in a line", [][2]float64{{0, 0}, {1, 0}, {2, 0}, {2, 1}, {2, 2}, {0, 2}}},
	} {
		v := make([]geom.Vec, len(c.p))
		corner := make([]int32, len(c.p))
		turn := geom.RotationAbout(geom.V(1, 2, 3).Unit(), 1.1)
		shoelace := 0.0
		for i, p := range c.p {
			q := c.p[(i+1)%len(c.p)]
			shoelace += (p[0]*q[1] - q[0]*p[1]) / 2
			v[i], corner[i] = turn.Apply(geom.V(p[0], p[1], 5)), int32(i)
		}
		out := make([][3]int32, len(c.p)-2)
		if !cut(v, corner, out) {
			t.Errorf("%s: not cut", c.name)
		}
		sum, up := 0.0, turn.Apply(geom.V(0, 0, 1))
		for _, f := range out {
			a := geom.TriangleNormal(v[f[0]], v[f[1]], v[f[2]]).Dot(up) / 2
			if a < -1e-12 {
				t.Errorf("%s: facet %v turns the other way", c.name, f)
			}
			sum += a
		}
		if math.Abs(sum-shoelace) > 1e-12 {
			t.Errorf("%s: area %g, want %g", c.name, sum, shoelace)
		}
	}
}
