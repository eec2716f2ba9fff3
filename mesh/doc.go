// Package mesh is an indexed triangle mesh with adjacency, border loops,
// shells, orientation and the defects found in it.
//
// Lengths are millimetres. Facets are counter-clockwise seen from outside.
// Half-edge 3f+k of facet f runs from its corner k to its corner k+1. Nothing
// here panics on damaged topology: edges of more than two facets, facets that
// run against their neighbours, facets that name a vertex twice and surfaces
// with one side have their codes and are counted by Defects. Numbers of shells
// and loops follow the lowest facet or half-edge; no map order reaches a
// result. Refused is only what readers refuse before: indices out of range and
// coordinates that are not finite.
//
// Nothing here changes a caller's mesh; repairs return a new one.
package mesh
