// Package record is what one run was: the surfaces by their hash, the
// settings, the frame, the finish line and the readings. It writes the JSON
// document and the ledger; both are contracts described in the README.
//
// Lengths are millimetres and angles degrees, uncertainties expanded with
// k = 2, coordinates those of the input files in millimetres. The same record
// gives the same bytes. A value that is not there is null, never 0 or NaN.
//
// The schema of the document is made from its types by go generate.
package record

//go:generate go test . -run ^TestSchema$ -update
