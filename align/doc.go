// Package align finds frames: the occlusal direction of a scan, the frame of
// a tooth, and the mesial direction from the curve of the arch.
//
// Lengths are millimetres, angles radians inside and azimuths degrees.
// Nothing is guessed: where the arch does not tell, the answer says so.
package align
