package phantom

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"

	"crownassay/mesh"
	"crownassay/meshio"
)

// Write puts the case into a folder: case.yaml, the surfaces as binary STL and
// truth.json. The folder is made when it is not there.
func (c *Case) Write(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("write case %s: %w", dir, err)
	}
	text := fmt.Sprintf("tooth: %q\nmaterial: %s\nsurfaces:\n", c.Tooth, c.Material)
	for _, s := range c.surfaces() {
		text += fmt.Sprintf("  %s: %s.stl\n", s.role, s.role)
	}
	if err := os.WriteFile(filepath.Join(dir, "case.yaml"), []byte(text), 0o644); err != nil {
		return fmt.Errorf("write case: %w", err)
	}
	for _, s := range c.surfaces() {
		if err := meshio.WriteFile(filepath.Join(dir, s.role+".stl"), s.m); err != nil {
			return fmt.Errorf("write case: %w", err)
		}
	}
	out, err := json.MarshalIndent(struct {
		Spec  Spec  `json:"spec"`
		Truth Truth `json:"truth"`
	}{c.Spec, c.Truth}, "", " ")
	if err != nil {
		return fmt.Errorf("write truth: %w", err)
	}
	if err := os.WriteFile(filepath.Join(dir, "truth.json"), append(out, '\n'), 0o644); err != nil {
		return fmt.Errorf("write truth: %w", err)
	}
	return nil
}

// surface is one mesh of a case with its role.
type surface struct {
	role string
	m    *mesh.Mesh
}

// surfaces lists the meshes there are.
func (c *Case) surfaces() []surface {
	var out []surface
	for _, s := range []surface{{"prepared", c.Prepared}, {"opposing", c.Opposing}, {"before", c.Before},
		{"crown", c.Crown}, {"finished", c.Finished}, {"seated", c.Seated}} {
		if s.m != nil {
			out = append(out, s)
		}
	}
	return out
}
