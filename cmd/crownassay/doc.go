// Command crownassay measures a crown preparation from open mesh files and
// prints the ledger of its readings.
//
// Exit status: 0 measured and nothing fails, 1 measured and something fails,
// 2 could not be measured (usage, file, geometry).
package main

//go:generate go run . readings --format markdown --out ../../docs/READINGS.md
