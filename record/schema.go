package record

import _ "embed"

// Schema is the JSON Schema (2020-12) of the document.
//
//go:embed record.schema.json
var Schema []byte
