// Package audit looks over a whole archive of measured cases: where the values
// of each reading lie against their limits, what share fails and how sure that
// is, by dentist, tooth and month, and whether something has moved over time and
// what it coincides with. Values have the units of their readings, shares are 0
// to 1.
//
// It also runs an archive through a measuring function that is handed in, so
// that one bad case stops nothing and no case is measured twice. It knows no
// mesh. Of too few cases it says that they are too few.
package audit
