package web

import (
	"bytes"
	"context"
	"fmt"
	"io"

	"github.com/danielgtaylor/huma/v2"
)

// Exporter writes cases of the store for paper and for other programs.
type Exporter interface {
	// Report writes the report as PDF, or the sheet for the patient.
	Report(ctx context.Context, w io.Writer, id int64, paper string, patient bool) error
	// Export writes a case in one of the formats of ExportFormats; a reading may
	// be named where one is shown.
	Export(ctx context.Context, w io.Writer, id int64, format, reading string) error
}

// exportTypes are the media types of the formats.
var exportTypes = map[string]string{"json": "application/json", "csv": "text/csv; charset=utf-8", "fhir": "application/fhir+json",
	"glb": "model/gltf-binary", "ply": "application/octet-stream"}

type reportInput struct {
	CaseNumber
	Paper   string `query:"paper" enum:"a4,letter" default:"a4"`
	Patient bool   `query:"patient" doc:"The sheet for the patient, one page in plain words, instead."`
}

type exportInput struct {
	CaseNumber
	Format  string `query:"format" required:"true" enum:"json,csv,fhir,glb,ply"`
	Reading string `query:"reading" doc:"For glb and ply: id of the reading to show; by default the first of the findings that can be."`
}

// fileOutput is a file to be kept under a name.
type fileOutput struct {
	Type string `header:"Content-Type"`
	Name string `header:"Content-Disposition"`
	Body []byte
}

// exports registers what is taken away of a case.
func (h *handlers) exports(api huma.API) {
	file := func(o huma.Operation, types ...string) huma.Operation {
		content := map[string]*huma.MediaType{}
		for _, t := range types {
			content[t] = &huma.MediaType{Schema: &huma.Schema{Type: "string", Format: "binary"}}
		}
		o.Responses = map[string]*huma.Response{"200": {Description: "The file.", Content: content}}
		return o
	}
	huma.Register(api, file(op("get-report", "GET", "/api/cases/{id}/report", "The report of a case as PDF, as it stands in the store.", "exports", 404, 422), "application/pdf"), h.report)
	huma.Register(api, file(op("export-case", "GET", "/api/cases/{id}/export", "A case for other programs, as it stands in the store.", "exports", 404, 422),
		"application/json", "text/csv", "application/fhir+json", "model/gltf-binary", "application/octet-stream"), h.export)
}

func (h *handlers) report(ctx context.Context, in *reportInput) (*fileOutput, error) {
	var b bytes.Buffer
	if err := h.Exporter.Report(ctx, &b, in.ID, in.Paper, in.Patient); err != nil {
		return nil, failure(err)
	}
	name := "report"
	if in.Patient {
		name = "patient"
	}
	return &fileOutput{"application/pdf", fmt.Sprintf(`inline; filename="case-%d-%s.pdf"`, in.ID, name), b.Bytes()}, nil
}

func (h *handlers) export(ctx context.Context, in *exportInput) (*fileOutput, error) {
	if in.Reading != "" && in.Format != "glb" && in.Format != "ply" {
		return nil, failure(&Refusal{"only glb and ply show one reading; leave it out"})
	}
	var b bytes.Buffer
	if err := h.Exporter.Export(ctx, &b, in.ID, in.Format, in.Reading); err != nil {
		return nil, failure(err)
	}
	end := in.Format
	if end == "fhir" {
		end = "fhir.json"
	}
	return &fileOutput{exportTypes[in.Format], fmt.Sprintf(`attachment; filename="case-%d.%s"`, in.ID, end), b.Bytes()}, nil
}
