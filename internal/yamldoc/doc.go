// Package yamldoc reads the small YAML files that people write by hand and
// says what is wrong with them as file, line, fault and hint. A document is
// checked against a JSON Schema before it is decoded, so that a misspelt field
// is never passed over.
package yamldoc
