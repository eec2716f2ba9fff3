// Package layout holds no code: its test guards which package may import
// which, so that data flows one way.
package layout
