// Package desk holds the cases that are being looked at open: measured, with
// their surfaces and search trees in memory, so that maps, slices and readings
// about a moved finish line come at once. It is what the page's interface asks
// for everything that is measured, and what a job of measuring runs.
//
// A few cases are kept; the one not looked at for longest is dropped. What is
// held counts only as long as the store says that the case is still the same,
// so another program may add to the store at any time.
package desk
