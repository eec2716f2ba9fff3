// Package bvh answers questions of place about a mesh: nearest point, signed
// distance, first hit of a ray, section by a plane, what lies in a ball.
//
// A Tree is a binary hierarchy of boxes over the facets, built by the surface
// area heuristic. Lengths are millimetres. Distances are positive outside and
// negative inside; on an open sheet "outside" is the side the facets' normals
// point to. A Tree does not change after New and may be asked from many
// goroutines at once.
//
// Every answer is the one a scan over all facets would give, digit for digit:
// boxes are grown by more than the rounding error of the test that they save,
// and among equal answers the facet with the lowest index wins. The batched
// forms give the same digits for any number of workers.
//
// Facets without area are facets like any other, but one that names a vertex
// twice takes no part. An empty mesh has no nearest point, no hit and no
// section.
package bvh
