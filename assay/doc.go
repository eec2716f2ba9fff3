// Package assay is the pipeline: it loads a case folder, measures it and
// returns the record. It joins the two arms of the program, the geometry that
// makes readings and the tables that judge them, and holds no algorithm of its
// own.
//
// Lengths are millimetres whatever the unit of the files. A case that is
// incomplete, or a surface that is no preparation, is refused with the file,
// the line, the fault and a hint.
package assay
