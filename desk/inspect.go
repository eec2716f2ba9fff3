package desk

import (
	"context"
	"strings"

	"crownassay/assay"
	"crownassay/geom"
	"crownassay/mesh"
	"crownassay/meshio"
	"crownassay/record"
	"crownassay/unit"
	"crownassay/web"
)

// Inspect says what a mesh file holds and guesses its role beside the case's
// other takes.
func (d *Desk) Inspect(ctx context.Context, id int64, path, name string) (web.Inspection, error) {
	k, err := d.store.Case(ctx, id)
	if err != nil {
		return web.Inspection{}, err
	}
	f, m, used, err := readMesh(path, name, k.Unit)
	if err != nil {
		return web.Inspection{}, err
	}
	known, err := d.known(ctx, k, path)
	if err != nil {
		return web.Inspection{}, err
	}
	g, err := assay.GuessRole(ctx, m, known)
	return web.Inspection{Form: f.Format, Triangles: len(f.Mesh.F), Unit: used, Role: string(g.Role), Why: g.Why, Notes: f.Notes}, err
}

// known reads the newest take of each role that may stand beside a file,
// that file left out.
func (d *Desk) known(ctx context.Context, k record.Kept, but string) (map[assay.Role]*mesh.Mesh, error) {
	takes, err := d.store.Takes(ctx, k.ID)
	if err != nil {
		return nil, err
	}
	newest := map[assay.Role]record.Take{}
	for _, t := range takes {
		newest[assay.Role(t.Role)] = t
	}
	out := map[assay.Role]*mesh.Mesh{}
	for _, role := range []assay.Role{assay.Prepared, assay.Crown} {
		t, ok := newest[role]
		if !ok {
			continue
		}
		at, err := d.store.MeshPath(ctx, t.SHA256)
		if err != nil {
			return nil, err
		}
		if at == but {
			continue
		}
		if _, out[role], _, err = readMesh(at, t.File, k.Unit); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// readMesh reads a mesh file in millimetres; errors name it as the operator
// knows it. A file that states no unit is read in the one given.

func readMesh(path, name, otherwise string) (*meshio.File, *mesh.Mesh, string, error) {
	f, err := meshio.Read(path)
	if err != nil {
		return nil, nil, "", &web.Refusal{Text: strings.ReplaceAll(err.Error(), path, name)}
	}
	used, mm := otherwise, f.UnitMM
	if mm == 0 {
		mm, _ = unit.MillimetresPer(otherwise)
	} else {
		used = f.Describe().Unit
	}
	v := make([]geom.Vec, len(f.Mesh.V))
	for i, p := range f.Mesh.V {
		v[i] = p.Mul(mm)
	}
	return f, &mesh.Mesh{V: v, F: f.Mesh.F}, used, nil
}

// TakeMesh returns a take's mesh as it is in its file.
func (d *Desk) TakeMesh(ctx context.Context, t record.Take) (web.Mesh, error) {
	k, err := d.store.Case(ctx, t.Case)
	if err != nil {
		return web.Mesh{}, err
	}
	at, err := d.store.MeshPath(ctx, t.SHA256)
	if err != nil {
		return web.Mesh{}, err
	}
	_, m, _, err := readMesh(at, t.File, k.Unit)
	if err != nil {
		return web.Mesh{}, err
	}
	return drawable(m, t.SHA256), nil
}

// drawable is a mesh in single precision, which keeps 4 nm at 100 mm.
func drawable(m *mesh.Mesh, tag string) web.Mesh {
	out := web.Mesh{Positions: make([]float32, 0, 3*len(m.V)), Indices: make([]uint32, 0, 3*len(m.F)), Tag: tag}
	for _, p := range m.V {
		out.Positions = append(out.Positions, float32(p.X), float32(p.Y), float32(p.Z))
	}
	for _, t := range m.F {
		out.Indices = append(out.Indices, uint32(t[0]), uint32(t[1]), uint32(t[2]))
	}
	return out
}
