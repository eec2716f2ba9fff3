// Package gauge checks a scanner on a body of known dimensions: it finds the
// body in two or more scans, fits its shape, and says how far the scanner is off,
// how far its scans scatter, and with which uncertainty that is known.
//
// Lengths are millimetres, angles degrees at the doors and radians inside. An
// error is the indication less the calibrated value: plus means scanned too
// large. Uncertainties are expanded, about 95 %, unless they are called standard.
// ISO 12836 and ISO 20896-1 describe such tests of dental scanners and set no
// pass limit, and so nothing passes or fails here.
//
// Refused are scans in which the body is not to be found, of which too little is
// seen, or whose size shows another unit or another body.
package gauge
