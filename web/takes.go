package web

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"path"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"crownassay/record"
)

// Roles lists the roles in the order of the visit.
var Roles = []string{"prepared", "opposing", "before", "crown", "finished", "seated"}

type takeOutput struct {
	Status int
	Body   TakeOutput
}

// upload is a mesh file as the body of a request. It is read while it comes,
// so that a large one needs no memory.
type upload struct {
	CaseNumber
	Name string `query:"name" required:"true" minLength:"1" maxLength:"255" doc:"Name of the file."`
	Role string `query:"role" enum:"prepared,opposing,before,crown,finished,seated" doc:"What it is, where that is known; else it is guessed and has to be confirmed."`
	body io.Reader
}

// Resolve takes the body of the request.
func (u *upload) Resolve(ctx huma.Context) []error {
	r, w := humago.Unwrap(ctx)
	u.body = http.MaxBytesReader(w, r.Body, mostMesh+1)
	return nil
}

type roleInput struct {
	CaseNumber
	Take int64 `path:"take" minimum:"1"`
	Body struct {
		Role string `json:"role" enum:"prepared,opposing,before,crown,finished,seated," doc:"Empty takes the role away."`
	}
}

type takeInput struct {
	CaseNumber
	Take int64 `path:"take" minimum:"1"`
}

// takes registers what is done with surfaces.
func (h *handlers) takes(api huma.API) {
	add := op("add-take", "POST", "/api/cases/{id}/takes", "Add a mesh file to a case. Its role is guessed from its geometry.", "takes", 404, 413, 415, 422)
	add.Description = "STL, PLY, OBJ or 3MF. The same content once more is the take that is there (200)."
	add.RequestBody = &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{
		uploadType: {Schema: &huma.Schema{Type: "string", Format: "binary"}}}}
	add.DefaultStatus, add.SkipValidateBody, add.MaxBodyBytes = 201, true, -1
	huma.Register(api, add, h.addTake)
	huma.Register(api, op("set-role", "PUT", "/api/cases/{id}/takes/{take}", "Confirm or change what a take is.", "takes", 404, 422), h.setRole)
	huma.Register(api, binaryOp(op("get-take-mesh", "GET", "/api/cases/{id}/takes/{take}/mesh",
		"A take's mesh as in its file, in mm.", "takes", 404, 422), meshType), h.takeMesh)
}

// uploadType is the type of a mesh file's body: one that no plain form can
// send from another origin.
const uploadType = "application/octet-stream"

func (h *handlers) addTake(ctx context.Context, in *upload) (*takeOutput, error) {
	if _, err := h.Store.Case(ctx, in.ID); err != nil {
		return nil, failure(err)
	}
	name := path.Base(strings.ReplaceAll(in.Name, `\`, "/"))
	t, fresh, err := h.Take(ctx, in.ID, name, in.Role, in.body)
	if err != nil {
		return nil, failure(err)
	}
	out := &takeOutput{Status: 200, Body: toTake(t)}
	if fresh {
		out.Status = 201
	}
	return out, nil
}

// Take keeps a mesh file as a take of a case. Role may be empty: then it is
// guessed, and confirmed later. Fresh is false when the case had it already.
func (b *Bench) Take(ctx context.Context, id int64, name, role string, body io.Reader) (t record.Take, fresh bool, err error) {
	blob, err := b.Store.PutMesh(ctx, body, mostMesh)
	if err != nil {
		return t, false, err
	}
	had, err := b.Store.Takes(ctx, id)
	if err != nil {
		return t, false, err
	}
	if i := slices.IndexFunc(had, func(t record.Take) bool { return t.SHA256 == blob.SHA256 }); i >= 0 {
		return had[i], false, nil
	}
	at, err := b.Store.MeshPath(ctx, blob.SHA256)
	if err != nil {
		return t, false, err
	}
	in, err := b.Measurer.Inspect(ctx, id, at, name)
	if err != nil {
		return t, false, err
	}
	t = record.Take{Case: id, Role: in.Role, Guess: in.Role, Why: in.Why, File: name, SHA256: blob.SHA256, Bytes: blob.Bytes,
		Form: in.Form, Triangles: in.Triangles, Unit: in.Unit}
	if role != "" {
		t.Role, t.Confirmed = role, true
	}
	if t, err = b.Store.AddTake(ctx, t); err != nil || t.Role != "prepared" {
		return t, true, err
	}
	return t, true, b.guessAgain(ctx, id, had)
}

// guessAgain guesses the roles of unconfirmed takes beside a prepared arch that
// came after them.
func (b *Bench) guessAgain(ctx context.Context, id int64, had []record.Take) error {
	for _, t := range had {
		if t.Confirmed || t.Guess == "prepared" {
			continue
		}
		at, err := b.Store.MeshPath(ctx, t.SHA256)
		if err != nil {
			return err
		}
		in, err := b.Measurer.Inspect(ctx, id, at, t.File)
		if err != nil {
			return err
		}
		t.Role, t.Guess, t.Why = in.Role, in.Role, in.Why
		if _, err := b.Store.ChangeTake(ctx, t); err != nil {
			return err
		}
	}
	return nil
}

func (h *handlers) setRole(ctx context.Context, in *roleInput) (*takeOutput, error) {
	t, err := h.takeOf(ctx, in.ID, in.Take)
	if err != nil {
		return nil, failure(err)
	}
	t.Role, t.Confirmed = in.Body.Role, in.Body.Role != ""
	if t, err = h.Store.ChangeTake(ctx, t); err != nil {
		return nil, failure(err)
	}
	return &takeOutput{200, toTake(t)}, nil
}

// takeOf returns a take, if it is one of the case.
func (h *handlers) takeOf(ctx context.Context, id, take int64) (record.Take, error) {
	takes, err := h.Store.Takes(ctx, id)
	if err != nil {
		return record.Take{}, err
	}
	for _, t := range takes {
		if t.ID == take {
			return t, nil
		}
	}
	return record.Take{}, fmt.Errorf("find take %d of case %d: %w", take, id, record.ErrNotFound)
}

func (h *handlers) takeMesh(ctx context.Context, in *takeInput) (*binaryOutput, error) {
	t, err := h.takeOf(ctx, in.ID, in.Take)
	if err != nil {
		return nil, failure(err)
	}
	m, err := h.Measurer.TakeMesh(ctx, t)
	if err != nil {
		return nil, failure(err)
	}
	return &binaryOutput{meshType, encodeMesh(m)}, nil
}

// binaryOutput is a body that is no JSON.
type binaryOutput struct {
	Type string `header:"Content-Type"`
	Body []byte
}

// binaryOp says that an operation answers with such a body.
func binaryOp(o huma.Operation, form string) huma.Operation {
	o.Responses = map[string]*huma.Response{"200": {Description: "Little endian.", Content: map[string]*huma.MediaType{
		form: {Schema: &huma.Schema{Type: "string", Format: "binary"}}}}}
	switch form {
	case meshType:
		o.Description = "\"CAM1\", uint32 vertices n, uint32 triangles m, uint32 0, then 3 n float32 positions (mm) and 3 m uint32 indices."
	case mapType:
		o.Description = "\"CAV1\", uint32 vertices n, float32 smallest, float32 largest, then n float32 values; NaN where there is none."
	}
	return o
}
