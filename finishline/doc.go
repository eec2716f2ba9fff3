// Package finishline cuts a preparation in half planes around its axis,
// traces the finish line through them as one closed curve, says at each
// azimuth whether it is legible, and finds the preparation in a scan.
//
// Profiles are walked from the axis outward over the occlusal surface and
// down the axial wall. Lengths are millimetres, azimuths and turns degrees; a
// turn is positive where the surface is convex. A section where nothing can
// be seen says so; nothing is filled with a guess.
package finishline
