// Package jobs runs the measuring of cases one after the other, on a queue
// that outlives the program: kept in a SQLite file of its own, or, when an
// address is given, in a PostgreSQL database that several machines share. The
// code is the same; only the driver differs.
//
// A job that was running when the program was stopped runs again when it
// starts. A case has at most one job that has not ended. Steps are told within
// the process that works a job; other machines see its state alone.
package jobs
