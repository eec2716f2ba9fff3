// Package inbox follows a folder into which another program writes files, and
// hands each on once it is whole: when its size has stayed the same for a
// while and who takes it finds it complete.
package inbox
