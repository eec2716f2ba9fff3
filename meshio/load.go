package meshio

// Load returns the bytes of the mesh file at path, for callers that need them
// beside the mesh (Decode). Errors are those of Read.
func Load(path string) ([]byte, error) { return load(path) }
