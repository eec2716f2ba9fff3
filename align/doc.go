// Package align finds frames and motions: the occlusal direction of a scan, the
// frame of a tooth, the mesial direction from the curve of the arch, and the
// rigid motion that lays one surface on another.
//
// Lengths are millimetres, angles radians inside and azimuths degrees.
// Nothing is guessed: where the arch does not tell, the answer says so.
//
// Register takes two surfaces that may be open, partly missing and of any
// triangulation. It leaves alone what lies in one frame already. Otherwise it
// looks for places that look alike, takes the motions that most of them agree
// on, and refines the best by trimmed and weighed distances from the fixed
// surface's tangent planes. It refuses, with a *RefusedError, surfaces with too
// little in common, of different shape, that fit in two ways, or that slide
// along themselves.
package align
