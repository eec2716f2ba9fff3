// Package meshstore keeps files under the SHA-256 of their content where several
// machines reach them: in a shared folder, or in a bucket of a store that speaks
// the S3 protocol. A file is put once and never changed; what is read is held to
// its hash. Access keys come from the environment alone and are in no message.
package meshstore
