// Package shape makes meshes of exactly known shape for tests: bodies turned
// from a line in a half plane that may change with azimuth, plates and balls,
// in any pose, numbering and refinement. Every vertex lies on the exact
// surface; facets miss it by the sagitta of their edges, h^2 / 8 r.
//
// Lengths are millimetres, azimuths degrees, facets counter-clockwise seen
// from outside. Nothing here knows how a shape is measured.
package shape
