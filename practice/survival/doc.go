// Package survival says how long crowns last: the share still in use after a
// time (Kaplan-Meier), the share lost for each kind of reason when there are
// several (Aalen-Johansen), and whether groups differ (log-rank). Times are
// years, or any one unit; shares are 0 to 1. It knows no crown and no patient.
//
// A time is counted to the visit at which the loss was found, so what happens
// between two visits counts as of the later one.
package survival
