// Package practice brings the crowns of a practice together from the records
// of its cases: what was designed, what was found when a crown was tried in,
// and what became of it. What it learns from them is in the packages below:
// settings (contacts), survival, visit (times). It knows no geometry. Lengths
// are millimetres, times years where nothing else is said.
package practice
