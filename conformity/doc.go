// Package conformity says what a reading means: it adds the scanner's part to
// the uncertainty, finds the limit for the material and the tooth, decides with
// a guard band and writes one sentence of what to do next.
//
// Limits are rows of a YAML table, each with its source and status; a case may
// lay the practice's own rows over them. Lengths are millimetres, angles
// degrees, uncertainties expanded with k = 2 unless called standard. The
// package knows no geometry beyond points and refuses a material or reading
// that is not in its tables.
package conformity
