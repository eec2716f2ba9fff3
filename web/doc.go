// Package web serves the bench: an HTTP interface over a store of cases,
// described by OpenAPI 3.1 in openapi.json, and the page that uses nothing
// else. It draws and never measures: measuring, maps and slices are asked of
// a [Measurer], jobs of a [Queue].
//
// Lengths are millimetres and angles degrees. Meshes and maps are binary,
// little endian; binary.go says how. It refuses what does not come from its
// own page, bodies larger than stated and files that are no mesh.
package web

//go:generate go test . -run TestOpenAPI -update
