// Package meshio reads and writes triangle meshes: STL (binary, ASCII), PLY
// (ASCII, binary of both byte orders), OBJ and 3MF.
//
// The kind of a file is told by its content, never by its name alone. Readers
// trust no count: what a header announces is held against the bytes there are
// before memory is reserved. They refuse coordinates that are NaN, infinite or
// beyond float32, and indices out of range, and say the line (text) or the
// byte (binary). What can be read but is odd is told in File.Notes.
//
// Coordinates stay in the file's own unit; File.UnitMM says it where the
// format does. Vertices of exactly the same coordinates become one.
//
// Sources: STL, as common practice has it (80 + 4 + 50 n bytes); PLY, G. Turk,
// The PLY Polygon File Format, 1994; OBJ, the published description of its
// statements; 3MF Core Specification 1.3 and its Production Extension.
package meshio
