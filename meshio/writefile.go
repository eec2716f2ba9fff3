package meshio

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"crownassay/mesh"
)

// WriteFile writes m to path in the format of its ending: .stl (binary), .ply
// (binary, little endian) or .obj. The file appears whole or not at all: it is
// written beside its place, synced and renamed.
func WriteFile(path string, m *mesh.Mesh) error {
	write := map[string]func(io.Writer, *mesh.Mesh) error{
		".stl": WriteSTL, ".obj": WriteOBJ,
		".ply": func(w io.Writer, m *mesh.Mesh) error { return WritePLY(w, m, false) },
	}[strings.ToLower(filepath.Ext(path))]
	if write == nil {
		return fmt.Errorf("write %s: the ending names no format; use .stl, .ply or .obj", path)
	}
	f, err := os.CreateTemp(filepath.Dir(path), ".writing-*")
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	defer os.Remove(f.Name()) // fails once it is renamed
	if err := fill(f, m, write); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return nil
}

// fill writes, syncs and closes a new file and gives it the usual rights.
func fill(f *os.File, m *mesh.Mesh, write func(io.Writer, *mesh.Mesh) error) error {
	err := write(f, m)
	if err == nil {
		err = f.Chmod(0o644)
	}
	if err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	return err
}
