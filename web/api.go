package web

import (
	"net/http"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"crownassay/practice"
	"crownassay/practice/visit"
	"crownassay/record"
)

// Bench is what the interface works with.
type Bench struct {
	Store     record.Store
	Measurer  Measurer
	Queue     Queue
	Exporter  Exporter
	Describer Describer
	Visits    visit.Store
	Own       string // name under which the operator's changes are kept when a request gives none
}

// Bounds of what is accepted.
const (
	mostMesh = 256 << 20 // bytes of one mesh file: five million facets of a binary STL
	mostBody = 1 << 20   // bytes of any other body: 20,000 points of a finish line
)

// newAPI registers every operation on a mux.
func newAPI(mux *http.ServeMux, b *Bench) huma.API {
	c := huma.DefaultConfig("Crown Assay bench", record.Version)
	c.Info.Description = "The bench's interface. Lengths are millimetres, angles degrees. Binary bodies are little endian; " +
		"each operation that has one says its form."
	c.CreateHooks = nil // no links to schemas within bodies
	c.DocsPath, c.SchemasPath, c.OpenAPIPath = "", "", "/api/openapi"
	c.RejectUnknownQueryParameters = true
	addRecordSchema(c.Components.Schemas)
	api := humago.New(mux, c)
	h := &handlers{Bench: b}
	h.cases(api)
	h.described(api)
	h.takes(api)
	h.jobs(api)
	h.records(api)
	h.drawing(api)
	h.lines(api)
	h.tables(api)
	h.entries(api)
	h.exports(api)
	h.audits(api)
	h.luting(api)
	h.visits(api)
	h.practice(api)
	return api
}

// handlers are the operations over a bench.
type handlers struct {
	*Bench
	learner practice.Learner
	looked  looked // at cases, for the audit
}

// op makes the description of an operation.
func op(id, method, path, summary, tag string, errors ...int) huma.Operation {
	return huma.Operation{OperationID: id, Method: method, Path: path, Summary: summary, Tags: []string{tag},
		Errors: errors, MaxBodyBytes: mostBody}
}

// CaseNumber is a request about one case. It has a capital, since huma leaves embedded structs without one out.
type CaseNumber struct {
	ID int64 `path:"id" minimum:"1" doc:"Number of the case."`
}
