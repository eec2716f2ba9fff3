// Package fit lays a sphere, a plane, a cylinder or a cone through points so
// that the sum of their squared distances, measured square to the surface, is
// least, and says how well the points hold it.
//
// Lengths are millimetres, angles radians. A distance is positive outside: on
// the side of a plane's normal, farther from the middle of a sphere, farther
// from the axis of a cylinder or cone. The options make a fit robust: points
// that belong to something else are weighed down to nothing. Refused are too
// few points, points that lie so that the shape is open, and fits that do not
// come to rest.
//
// Every covariance is of the parameters in the order that the shape's type
// names. It comes twice: for noise that is independent from point to point,
// and for noise that holds together over patches.
package fit
