package assay

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"crownassay/geom"
	"crownassay/internal/phantom"
	"crownassay/mesh"
	"crownassay/meshio"
)

// TestGuessRole gives each surface of invented cases beside those that are
// known by then: what it is was decided when it was made.
func TestGuessRole(t *testing.T) {
	for _, k := range []struct {
		spec  phantom.Spec
		alone Role // of the opposing arch before there is another
	}{
		{phantom.Spec{Tooth: "46", Seed: 21, Triangles: 60000, RandomPose: true, Crown: &phantom.Crown{Triangles: 20000, Before: &phantom.Old{}, Finished: &phantom.Made{}}}, Opposing},
		// lower incisors are as small and smooth as preparations: it waits for the other arch
		{phantom.Spec{Tooth: "11", Seed: 22, Triangles: 50000, RandomPose: true, FullArch: true}, ""},
	} {
		spec, files := k.spec, surfacesOf(t, k.spec)
		p := files[Prepared]
		for _, c := range []struct {
			name  string
			of    *mesh.Mesh
			known map[Role]*mesh.Mesh
			want  Role
		}{
			{"prepared alone", p, nil, Prepared},
			{"opposing alone", files[Opposing], nil, k.alone},
			{"opposing", files[Opposing], map[Role]*mesh.Mesh{Prepared: p}, Opposing},
			{"a new take", p, map[Role]*mesh.Mesh{Prepared: p}, Prepared},
			{"before", files[Before], map[Role]*mesh.Mesh{Prepared: p}, Before},
			{"crown", files[Crown], map[Role]*mesh.Mesh{Prepared: p}, Crown},
			{"crown before its arch", files[Crown], nil, Crown},
			{"crown as made", files[Finished], map[Role]*mesh.Mesh{Prepared: p, Crown: files[Crown]}, Finished},
			{"another mouth", moved(files[Before]), map[Role]*mesh.Mesh{Prepared: p}, ""},
		} {
			if c.of == nil {
				continue
			}
			g, err := GuessRole(context.Background(), c.of, c.known)
			if err != nil || g.Role != c.want || g.Why == "" {
				t.Errorf("tooth %s, %s: guessed %q (%s), %v; want %q", spec.Tooth, c.name, g.Role, g.Why, err, c.want)
			}
		}
	}
}

// moved is a surface 60 mm aside.
func moved(m *mesh.Mesh) *mesh.Mesh {
	if m == nil {
		return nil
	}
	return m.Move(geom.Rigid{R: geom.Identity(), T: geom.V(60, 0, 0)})
}

// surfacesOf writes an invented case and reads its surfaces.
func surfacesOf(t *testing.T, spec phantom.Spec) map[Role]*mesh.Mesh {
	t.Helper()
	dir := t.TempDir()
	if err := invented(t, spec).Write(dir); err != nil {
		t.Fatal(err)
	}
	out := map[Role]*mesh.Mesh{}
	for _, role := range Roles {
		path := filepath.Join(dir, string(role)+".stl")
		if _, err := os.Stat(path); err != nil {
			continue
		}
		f, err := meshio.Read(path)
		if err != nil {
			t.Fatal(err)
		}
		out[role] = f.Mesh
	}
	return out
}
