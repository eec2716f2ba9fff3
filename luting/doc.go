// Package luting says by which family of luting material a crown can be fixed,
// with every reason, and lists the steps that prepare the crown and the tooth
// for it.
//
// Rules, steps and what is never done are rows of a YAML table, each with its
// source and status; a practice may lay its own over them. A family is
// supported when all that it needs is there, not supported when one of its
// needs is not met, and undecided when a reading is too near a limit, was not
// measured, or something was not entered. Nothing is assumed of what was not
// entered.
//
// Lengths are millimetres, angles degrees, strengths MPa, times seconds,
// uncertainties expanded with k = 2. The package knows no mesh and refuses
// words that are not in its lists.
package luting
