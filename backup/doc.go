// Package backup writes the files of a store into one encrypted file and reads
// them back. The file is an age file (age-encryption.org/v1, X25519 or a
// passphrase) around a tar archive: first manifest.json, which lists every file
// with its length and SHA-256, then the files in that order. It is not packed:
// scans hardly get smaller by it.
//
// Restoring trusts nothing: names are only those that a store has, lengths and
// hashes are held against the manifest, and the folder appears whole or not at
// all. A file that was cut off or changed anywhere does not decrypt, and the
// error says so.
package backup
