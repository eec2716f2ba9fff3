package phantom

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"

	"crownassay/mesh"
	"crownassay/meshio"
)

// Write puts the case into a folder: case.yaml, the two surfaces as binary
// STL and truth.json. The folder is made when it is not there.
func (c *Case) Write(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("write case %s: %w", dir, err)
	}
	text := fmt.Sprintf("tooth: %q\nmaterial: %s\nsurfaces:\n  prepared: prepared.stl\n  opposing: opposing.stl\n", c.Tooth, c.Material)
	if err := os.WriteFile(filepath.Join(dir, "case.yaml"), []byte(text), 0o644); err != nil {
		return fmt.Errorf("write case: %w", err)
	}
	for _, s := range []struct {
		name string
		m    *mesh.Mesh
	}{{"prepared.stl", c.Prepared}, {"opposing.stl", c.Opposing}} {
		if err := meshio.WriteFile(filepath.Join(dir, s.name), s.m); err != nil {
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
