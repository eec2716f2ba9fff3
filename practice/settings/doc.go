// Package settings learns from contacts that were tried in which designed
// contact needs no adjusting: a proportional-odds model of how a contact is
// felt, from the loosest word to the tightest, with weakly informative priors;
// its posterior; and the design with the lowest expected loss under the
// practice's own losses, with an interval. It knows no case and no patient.
//
// Tightness is millimetres of overlap: above zero the design cuts into the
// neighbour, below zero it leaves a gap.
package settings
