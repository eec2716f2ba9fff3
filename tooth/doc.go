// Package tooth knows the permanent teeth: their numbers in the ISO 3950 and
// Universal systems, their class, their mean size and the directions around
// them.
//
// A number such as 12 is valid in both systems and means different teeth, so
// the system is always stated and never inferred. Lengths are millimetres.
// Primary teeth, implants and supernumerary teeth are refused.
package tooth
