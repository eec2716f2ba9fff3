package web

import (
	"context"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/geom"
	"crownassay/record"
)

// Describer reads the description of a case folder.
type Describer interface {
	// Describe reads case.yaml of a folder from the texts in it by their names
	// and the names of its mesh files. An error says the file, the place and
	// what to do.
	Describe(ctx context.Context, texts map[string]string, meshes []string) (Described, error)
}

// Described is what a case folder says.
type Described struct {
	Case       record.Kept
	Surfaces   []NamedSurface
	FinishLine []geom.Vec // mm
}

// NamedSurface is the mesh file of a role.
type NamedSurface struct {
	Role string `json:"role" enum:"prepared,opposing,before,crown,finished,seated"`
	File string `json:"file" doc:"As case.yaml names it."`
}

type describeInput struct {
	Body struct {
		Files []struct {
			Name string `json:"name" minLength:"1" maxLength:"255" doc:"Beside case.yaml, or below its folder."`
			Text string `json:"text"`
		} `json:"files" maxItems:"50" nullable:"false" doc:"case.yaml and what texts are beside it: the practice's own limits, a finish line."`
		Meshes []string `json:"meshes" maxItems:"1000" nullable:"false" doc:"Names of the mesh files of the folder."`
	}
}

type describedOutput struct {
	Body struct {
		Case       CaseOutput     `json:"case" doc:"What is known of the case; it is not kept yet."`
		Surfaces   []NamedSurface `json:"surfaces" nullable:"false"`
		FinishLine []Point        `json:"finish_line" nullable:"false" doc:"Empty when the folder has none."`
	}
}

// described registers the reading of a case folder.
func (h *handlers) described(api huma.API) {
	o := op("read-case-folder", "POST", "/api/case-folders", "Read the case.yaml of a folder. Nothing is kept.", "cases", 413, 422)
	o.MaxBodyBytes = 8 * mostBody
	huma.Register(api, o, h.describe)
}

func (h *handlers) describe(ctx context.Context, in *describeInput) (*describedOutput, error) {
	texts := map[string]string{}
	for _, f := range in.Body.Files {
		texts[f.Name] = f.Text
	}
	d, err := h.Describer.Describe(ctx, texts, in.Body.Meshes)
	if err != nil {
		return nil, failure(err)
	}
	out := &describedOutput{}
	out.Body.Case, out.Body.Surfaces, out.Body.FinishLine = toCase(d.Case), d.Surfaces, toPoints(d.FinishLine)
	return out, nil
}
