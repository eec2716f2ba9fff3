package meshio

import (
	"encoding/binary"
	"encoding/json"
	"io"
	"math"

	"crownassay/geom"
)

// noValue stands in a GLB for a vertex without a value, since glTF allows no
// NaN; far outside anything that is measured.
const noValue = -1e6

// The numbers of glTF 2.0 (ISO/IEC 12113:2022) for what is written here.
const (
	glbMagic     = 0x46546C67
	glbJSON      = 0x4E4F534A
	glbBIN       = 0x004E4942
	typeUint16   = 5123
	typeUint32   = 5125
	typeFloat    = 5126
	arrayBuffer  = 34962
	elementArray = 34963
)

type glAccessor struct {
	View       int       `json:"bufferView"`
	Type       int       `json:"componentType"`
	Normalized bool      `json:"normalized,omitempty"`
	Count      int       `json:"count"`
	Shape      string    `json:"type"`
	Min        []float64 `json:"min,omitempty"`
	Max        []float64 `json:"max,omitempty"`
}

type glView struct {
	Buffer int `json:"buffer"`
	Offset int `json:"byteOffset"`
	Length int `json:"byteLength"`
	Target int `json:"target"`
}

// glb collects what goes into the binary part.
type glb struct {
	bin       []byte
	views     []glView
	accessors []glAccessor
}

// put ends a view that began at a place and names its accessor.
func (g *glb) put(from int, target int, a glAccessor) int {
	g.views = append(g.views, glView{0, from, len(g.bin) - from, target})
	a.View = len(g.views) - 1
	g.accessors = append(g.accessors, a)
	return len(g.accessors) - 1
}

// WriteGLB writes a binary glTF 2.0 with the colours and, as the attribute
// _VALUE, the values of the vertices; -1e6 where there is none. Coordinates
// are those of the mesh, mm; the node turns them upright and to metres, which
// the format asks for. Colours are linear there.
func WriteGLB(w io.Writer, c *Colored) error {
	if err := c.check(); err != nil {
		return err
	}
	g := &glb{}
	attributes := map[string]int{"POSITION": g.positions(c.Mesh.V), "NORMAL": g.normals(c.Mesh.VertexNormals()), "COLOR_0": g.colors(c), "_VALUE": g.values(c.Values)}
	doc := map[string]any{
		"asset":  map[string]any{"version": "2.0", "generator": "Crown Assay"},
		"scene":  0,
		"scenes": []any{map[string]any{"nodes": []int{0}}},
		"nodes":  []any{map[string]any{"mesh": 0, "name": c.Name, "matrix": c.matrix()}},
		"meshes": []any{map[string]any{"name": c.Name, "extras": map[string]any{"value": c.Name, "unit": c.Unit, "none": noValue},
			"primitives": []any{map[string]any{"attributes": attributes, "indices": g.indices(c), "material": 0}}}},
		"materials": []any{map[string]any{"doubleSided": true, "pbrMetallicRoughness": map[string]any{"metallicFactor": 0, "roughnessFactor": 0.9}}},
		"buffers":   []any{map[string]any{"byteLength": len(g.bin)}}, "bufferViews": g.views, "accessors": g.accessors,
	}
	text, err := json.Marshal(doc)
	if err != nil {
		return err
	}
	for len(text)%4 != 0 {
		text = append(text, ' ')
	}
	head := binary.LittleEndian.AppendUint32(nil, glbMagic)
	for _, n := range []uint32{2, uint32(28 + len(text) + len(g.bin)), uint32(len(text)), glbJSON} {
		head = binary.LittleEndian.AppendUint32(head, n)
	}
	between := binary.LittleEndian.AppendUint32(binary.LittleEndian.AppendUint32(nil, uint32(len(g.bin))), glbBIN)
	for _, part := range [][]byte{head, text, between, g.bin} {
		if _, err := w.Write(part); err != nil {
			return err
		}
	}
	return nil
}

func (g *glb) float(x float64) {
	g.bin = binary.LittleEndian.AppendUint32(g.bin, math.Float32bits(float32(x)))
}

func (g *glb) positions(v []geom.Vec) int {
	from, box := len(g.bin), geom.EmptyBox()
	for _, p := range v {
		g.float(p.X)
		g.float(p.Y)
		g.float(p.Z)
		box = box.Include(geom.V(float64(float32(p.X)), float64(float32(p.Y)), float64(float32(p.Z))))
	}
	return g.put(from, arrayBuffer, glAccessor{Type: typeFloat, Count: len(v), Shape: "VEC3",
		Min: []float64{box.Min.X, box.Min.Y, box.Min.Z}, Max: []float64{box.Max.X, box.Max.Y, box.Max.Z}})
}

// normals of vertices without facets look along z, since each must be unit.
func (g *glb) normals(n []geom.Vec) int {
	from := len(g.bin)
	for _, v := range n {
		if !(v.Norm() > 0.5) {
			v = geom.V(0, 0, 1)
		}
		g.float(v.X)
		g.float(v.Y)
		g.float(v.Z)
	}
	return g.put(from, arrayBuffer, glAccessor{Type: typeFloat, Count: len(n), Shape: "VEC3"})
}

func (g *glb) colors(c *Colored) int {
	from := len(g.bin)
	for _, k := range c.Colors {
		for _, x := range []uint8{k.R, k.G, k.B} {
			g.bin = binary.LittleEndian.AppendUint16(g.bin, uint16(math.Round(65535*linear(float64(x)/255))))
		}
		g.bin = binary.LittleEndian.AppendUint16(g.bin, 65535)
	}
	return g.put(from, arrayBuffer, glAccessor{Type: typeUint16, Normalized: true, Count: len(c.Colors), Shape: "VEC4"})
}

// linear undoes the sRGB transfer function (IEC 61966-2-1).
func linear(x float64) float64 {
	if x <= 0.04045 {
		return x / 12.92
	}
	return math.Pow((x+0.055)/1.055, 2.4)
}

func (g *glb) values(v []float64) int {
	from := len(g.bin)
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			x = noValue
		}
		g.float(x)
	}
	return g.put(from, arrayBuffer, glAccessor{Type: typeFloat, Count: len(v), Shape: "SCALAR"})
}

func (g *glb) indices(c *Colored) int {
	from := len(g.bin)
	for _, f := range c.Mesh.F {
		for _, i := range f {
			g.bin = binary.LittleEndian.AppendUint32(g.bin, uint32(i))
		}
	}
	return g.put(from, elementArray, glAccessor{Type: typeUint32, Count: 3 * len(c.Mesh.F), Shape: "SCALAR"})
}

// matrix turns up to y and right to x, and millimetres to metres; by columns.
func (c *Colored) matrix() [16]float64 {
	x, y := c.Right, c.Up
	if x.Norm() == 0 || y.Norm() == 0 {
		x, y = geom.V(1, 0, 0), geom.V(0, 0, 1)
	}
	y = y.Unit()
	x = x.Reject(y).Unit()
	z := x.Cross(y)
	const m = 1e-3
	return [16]float64{m * x.X, m * y.X, m * z.X, 0, m * x.Y, m * y.Y, m * z.Y, 0, m * x.Z, m * y.Z, m * z.Z, 0, 0, 0, 0, 1}
}
