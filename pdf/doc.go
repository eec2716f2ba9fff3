// Package pdf sets the report of a measured case, two or three pages, and the
// sheet for the patient, one page, on A4 or Letter. It is given the record's
// document, pictures and sections that were drawn elsewhere, and the entries of
// the case's record; it measures nothing.
//
// The same report gives the same bytes: dates are those of the record, never
// of a clock. Fonts are embedded. Text is written in the order in which it is
// read, so that copied or read aloud it makes sense. Lengths on paper are
// millimetres.
package pdf
