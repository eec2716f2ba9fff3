// Package sqlite keeps the bench's cases in one folder: a SQLite database and
// the mesh files, each under the SHA-256 of its content. It is the store of
// record.
//
// A mesh file is written beside its place, synced and renamed before a row
// names it, so that at any moment every row has its file whole. Rows are
// committed with full synchronisation. Times are UTC.
package sqlite
