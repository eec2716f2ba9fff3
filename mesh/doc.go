// Package mesh is an indexed triangle mesh with adjacency, border loops,
// shells, orientation and the defects found in it.
//
// Lengths are millimetres. Facets are counter-clockwise seen from outside.
// Half-edge 3f+k of facet f runs from its corner k to its corner k+1. Nothing
// here changes a caller's mesh; repairs return a new one.
package mesh
