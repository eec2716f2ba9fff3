package meshio

import (
	"errors"
	"io"
	"io/fs"
	"os"

	"crownassay/mesh"
)

// The formats that are read, as File.Format names them.
const (
	STLBinary   = "stl-binary"
	STLASCII    = "stl-ascii"
	PLYASCII    = "ply-ascii"
	PLYBinaryLE = "ply-binary-le"
	PLYBinaryBE = "ply-binary-be"
	OBJ         = "obj"
	ThreeMF     = "3mf"
)

// maxFile bounds the bytes of a file, so that every index fits int32.
// A binary STL of this size holds 42 million facets.
const maxFile = 2 << 30

// File is what was read.
type File struct {
	Format string     // one of the constants above
	Mesh   *mesh.Mesh // in the file's own unit
	UnitMM float64    // millimetres per unit; 0 if the format does not say
	Notes  []string   // what is odd but did not prevent reading
}

// Read reads the mesh file at path. Errors are a *FormatError, an
// *UnsupportedError, or wrap the system's error (fs.ErrNotExist).
func Read(path string) (*File, error) {
	data, err := Load(path)
	if err != nil {
		return nil, err
	}
	return Decode(data, path)
}

// Decode reads a mesh from the bytes of a file; name stands in messages.
func Decode(data []byte, name string) (*File, error) {
	kind, err := sniff(data, name)
	if err != nil {
		return nil, err
	}
	f, err := kind(data, name)
	if err != nil {
		return nil, err
	}
	if len(f.Mesh.F) == 0 {
		return nil, nowhere(name, "export the surface itself, not points or lines", "the file holds no facets")
	}
	return f, nil
}

// Load returns the bytes of the mesh file at path, read at once, for callers
// that need them beside the mesh (Decode). Errors are those of Read.
func Load(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, openError(path, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, openError(path, err)
	}
	if err := loadable(path, info); err != nil {
		return nil, err
	}
	data := make([]byte, info.Size())
	n, err := io.ReadFull(f, data)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, openError(path, err)
	}
	return data[:n], nil
}

// loadable says why a thing that exists cannot be a mesh file.
func loadable(path string, info fs.FileInfo) error {
	switch {
	case info.IsDir():
		return &UnsupportedError{path, "this is a folder", "name a mesh file in it"}
	case !info.Mode().IsRegular():
		return &UnsupportedError{path, "this is not a regular file", "name a mesh file"}
	case info.Size() > maxFile:
		return &UnsupportedError{path, "the file is larger than 2 GiB", "export the surface with fewer facets"}
	}
	return nil
}

func openError(path string, err error) error {
	what, hint := "the file cannot be read: "+cause(err), "see whether it can be opened elsewhere"
	switch {
	case errors.Is(err, fs.ErrNotExist):
		what, hint = "there is no such file", "check the name and the folder"
	case errors.Is(err, fs.ErrPermission):
		what, hint = "the file may not be read", "ask for the right to read it"
	}
	return &accessError{path, what, hint, err}
}

// cause is the system's own word for err, without the path said already.
func cause(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}
