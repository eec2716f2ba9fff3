// Package measure makes readings of a preparation, one file a measurand.
//
// Each function takes a Site, which holds the located preparation and the
// other surfaces of the case, and returns readings without verdicts. Lengths
// are millimetres, angles degrees, areas mm^2. What cannot be measured has a
// Reason and no value. A Reading carries the parts of its uncertainty that
// the geometry knows; the scanner's part is added by conformity.
package measure
