// Package geom holds vectors, boxes, triangles, planes and rigid motions.
//
// Everything is float64; lengths are millimetres, angles radians. Directions
// are plain Vec values; where a unit vector is needed the argument is said to
// be one. Names that end in Sq are squared. Nothing here fails: a degenerate
// triangle has a closest point like any other, and a zero vector stays zero
// when it is normalised.
package geom
