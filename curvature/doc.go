// Package curvature gives normals and principal curvatures at the vertices of
// a mesh, and fits quadrics to patches of points. It also says how far above a facet the
// surface lies that it stands for.
//
// Lengths are millimetres, curvatures 1/mm. A curvature is positive where the
// surface is convex, seen from the side its normals point to: a ball of radius
// r has +1/r. Neighbours are found by walking the mesh, so a patch never jumps
// to a surface that is merely near. Where a patch does not determine a
// quadric, the result says so; nothing is guessed.
package curvature
