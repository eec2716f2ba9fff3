// Package twoyears invents the history of a practice, seeded, with the truth
// behind it known: how contacts are felt, which lot of blocks came out tight,
// how often crowns are lost. It is for the demonstration and for tests; nobody
// in it exists. It knows nothing of how a truth is found again.
package twoyears
