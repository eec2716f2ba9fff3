package web

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/geom"
	"crownassay/reading"
)

type meshInput struct {
	CaseNumber
	Role  string `path:"role" enum:"prepared,opposing,before,crown,finished,seated"`
	Match string `header:"If-None-Match"`
}

type taggedOutput struct {
	Status int
	Type   string `header:"Content-Type"`
	Tag    string `header:"ETag"`
	Body   []byte
}

// MapOutput is a reading that can be shown on a surface.
type MapOutput struct {
	Reading string `json:"reading" doc:"Its id."`
	Role    string `json:"role" doc:"The surface it is shown on."`
	Unit    string `json:"unit"`
	Says    string `json:"says" doc:"What the value at a vertex is."`
}

type mapsOutput struct {
	Body struct {
		Maps []MapOutput `json:"maps" nullable:"false"`
	}
}

type mapInput struct {
	CaseNumber
	Role    string `path:"role" enum:"prepared,opposing,before,crown,finished,seated"`
	Reading string `path:"reading" maxLength:"80" doc:"Id of the reading."`
}

type sliceInput struct {
	CaseNumber
	Azimuth float64   `query:"azimuth" minimum:"-360" maximum:"360" doc:"Cut by the plane that holds the axis and this azimuth, degrees. Not looked at where normal is given."`
	Point   []float64 `query:"point" minItems:"3" maxItems:"3" doc:"x,y,z of a point of the plane, with normal."`
	Normal  []float64 `query:"normal" minItems:"3" maxItems:"3" doc:"x,y,z of the plane's normal."`
}

// LineOutput is one connected line of a section.
type LineOutput struct {
	Role   string       `json:"role"`
	Closed bool         `json:"closed"`
	Points [][2]float64 `json:"points" nullable:"false" doc:"Along right and up, mm."`
}

type sliceOutput struct {
	Body struct {
		Origin Point        `json:"origin" doc:"Of the section's coordinates, in space, mm."`
		Right  Point        `json:"right" doc:"Unit direction of the first coordinate: at an azimuth, away from the axis on its side."`
		Up     Point        `json:"up" doc:"Unit direction of the second: at an azimuth, the placement axis."`
		Lines  []LineOutput `json:"lines" nullable:"false"`
	}
}

// drawing registers what the view, the maps and the slice are drawn from.
func (h *handlers) drawing(api huma.API) {
	mesh := binaryOp(op("get-mesh", "GET", "/api/cases/{id}/surfaces/{role}", "A surface as it was measured, in mm.", "drawing", 404, 422), meshType)
	mesh.Responses["304"] = &huma.Response{Description: "It is the one that the page has."}
	huma.Register(api, mesh, h.mesh)
	huma.Register(api, op("list-maps", "GET", "/api/cases/{id}/maps", "The readings that can be shown on a surface.", "drawing", 404, 422), h.maps)
	huma.Register(api, binaryOp(op("get-map", "GET", "/api/cases/{id}/maps/{role}/{reading}",
		"A reading's value at each vertex of the surface.", "drawing", 404, 422), mapType), h.mapOf)
	huma.Register(api, op("get-slice", "GET", "/api/cases/{id}/slice", "A plane section through all surfaces.", "drawing", 404, 422), h.slice)
}

func (h *handlers) mesh(ctx context.Context, in *meshInput) (*taggedOutput, error) {
	m, err := h.Measurer.Mesh(ctx, in.ID, in.Role)
	if err != nil {
		return nil, failure(err)
	}
	tag := `"` + m.Tag + `"`
	if in.Match == tag {
		return &taggedOutput{Status: http.StatusNotModified, Tag: tag}, nil
	}
	return &taggedOutput{http.StatusOK, meshType, tag, encodeMesh(m)}, nil
}

func (h *handlers) maps(ctx context.Context, in *CaseNumber) (*mapsOutput, error) {
	ms, err := h.Measurer.Maps(ctx, in.ID)
	if err != nil {
		return nil, failure(err)
	}
	out := &mapsOutput{}
	out.Body.Maps = []MapOutput{}
	for _, m := range ms {
		out.Body.Maps = append(out.Body.Maps, MapOutput{string(m.Reading), m.Role, m.Unit, m.Says})
	}
	return out, nil
}

func (h *handlers) mapOf(ctx context.Context, in *mapInput) (*binaryOutput, error) {
	v, err := h.Measurer.Map(ctx, in.ID, in.Role, reading.ID(in.Reading))
	if err != nil {
		return nil, failure(err)
	}
	return &binaryOutput{mapType, encodeMap(v)}, nil
}

func (h *handlers) slice(ctx context.Context, in *sliceInput) (*sliceOutput, error) {
	c := Cut{Azimuth: &in.Azimuth}
	if in.Normal != nil {
		c = Cut{Normal: geom.V(in.Normal[0], in.Normal[1], in.Normal[2])}
		if in.Point == nil {
			return nil, failure(&Refusal{"read point: a plane needs a point beside its normal; give for example point=0,0,0"})
		}
		c.Point = geom.V(in.Point[0], in.Point[1], in.Point[2])
		if !(c.Normal.Norm() > 0) {
			return nil, failure(&Refusal{"read normal: the direction has no length; give for example 1,0,0"})
		}
		c.Normal = c.Normal.Unit()
	}
	s, err := h.Measurer.Slice(ctx, in.ID, c)
	if err != nil {
		return nil, failure(err)
	}
	out := &sliceOutput{}
	out.Body.Origin, out.Body.Right, out.Body.Up = toPoint(s.Origin), toPoint(s.Right), toPoint(s.Up)
	out.Body.Lines = []LineOutput{}
	for _, l := range s.Lines {
		out.Body.Lines = append(out.Body.Lines, LineOutput(l))
	}
	return out, nil
}
