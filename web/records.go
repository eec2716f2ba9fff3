package web

import (
	"context"
	"fmt"
	"slices"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/record"
)

type runInput struct {
	CaseNumber
	Run int64 `query:"run" minimum:"0" doc:"Number of a run; 0 for the newest."`
}

// documentOutput is a record's document, byte for byte.
type documentOutput struct {
	Type string `header:"Content-Type"`
	Run  int64  `header:"Crownassay-Run"`
	Body []byte
}

type runsOutput struct {
	Body struct {
		Runs []RunOutput `json:"runs" nullable:"false" doc:"The newest first."`
	}
}

// ChangeOutput is how one reading differs between two runs.
type ChangeOutput struct {
	Reading    string   `json:"reading" doc:"Its id."`
	Name       string   `json:"name"`
	Unit       string   `json:"unit"`
	Old        *float64 `json:"old" doc:"null when it was not measured."`
	New        *float64 `json:"new" doc:"null when it was not measured."`
	OldVerdict string   `json:"old_verdict"`
	NewVerdict string   `json:"new_verdict"`
}

type changesOutput struct {
	Body struct {
		From    *RunOutput     `json:"from,omitempty" doc:"The older run; missing when there is only one."`
		To      *RunOutput     `json:"to,omitempty"`
		Takes   []TakeOutput   `json:"takes" nullable:"false" doc:"Takes that are new in the newer run."`
		Changes []ChangeOutput `json:"changes" nullable:"false" doc:"In the order of the newer run."`
	}
}

// mostRuns is how many runs a list shows.
const mostRuns = 100

// records registers what is read of runs.
func (h *handlers) records(api huma.API) {
	huma.Register(api, document(op("get-record", "GET", "/api/cases/{id}/record", "The record of a run.", "records", 404)), h.record)
	huma.Register(api, op("list-runs", "GET", "/api/cases/{id}/runs", "The runs of a case.", "records", 404), h.listRuns)
	huma.Register(api, op("get-changes", "GET", "/api/cases/{id}/changes", "What changed in the newest run since the last one of other takes, or else since the one before it.", "records", 404), h.changes)
}

// document says that an operation answers with a record.
func document(o huma.Operation) huma.Operation {
	o.Responses = map[string]*huma.Response{"200": {Description: "The record.", Content: map[string]*huma.MediaType{
		"application/json": {Schema: &huma.Schema{Ref: schemaPrefix + "Record"}}}}}
	return o
}

func (h *handlers) record(ctx context.Context, in *runInput) (*documentOutput, error) {
	limit := mostRuns
	if in.Run == 0 {
		limit = 1
	}
	runs, err := h.Store.Runs(ctx, in.ID, limit)
	if err != nil {
		return nil, failure(err)
	}
	for _, r := range runs {
		if in.Run == 0 || r.ID == in.Run {
			return &documentOutput{"application/json", r.ID, r.Document}, nil
		}
	}
	return nil, failure(fmt.Errorf("find a run of case %d: it has not been measured yet: %w", in.ID, record.ErrNotFound))
}

func (h *handlers) listRuns(ctx context.Context, in *CaseNumber) (*runsOutput, error) {
	runs, err := h.Store.Runs(ctx, in.ID, mostRuns)
	if err != nil {
		return nil, failure(err)
	}
	out := &runsOutput{}
	out.Body.Runs = []RunOutput{}
	for _, r := range runs {
		out.Body.Runs = append(out.Body.Runs, *toRun(r))
	}
	return out, nil
}

func (h *handlers) changes(ctx context.Context, in *CaseNumber) (*changesOutput, error) {
	to, from, err := h.lastTwo(ctx, in.ID)
	if err != nil {
		return nil, failure(err)
	}
	out := &changesOutput{}
	out.Body.Takes, out.Body.Changes = []TakeOutput{}, []ChangeOutput{}
	if to != nil {
		out.Body.To = toRun(*to)
	}
	if from == nil {
		return out, nil
	}
	out.Body.From = toRun(*from)
	cs, err := record.Changes(from.Document, to.Document)
	if err != nil {
		return nil, failure(err)
	}
	for _, c := range cs {
		out.Body.Changes = append(out.Body.Changes, ChangeOutput{string(c.ID), c.Name, c.Unit, c.Old, c.New, string(c.OldVerdict), string(c.NewVerdict)})
	}
	out.Body.Takes, err = h.added(ctx, in.ID, from.Takes, to.Takes)
	return out, failure(err)
}

// lastTwo returns the newest run and the one it is compared with: the last
// that measured other takes, so that a line moved since hides nothing of what a
// new scan has changed, or else the one before it. Nil where there is none.
func (h *handlers) lastTwo(ctx context.Context, id int64) (to, from *record.Run, err error) {
	for limit := 2; ; limit = mostRuns {
		runs, err := h.Store.Runs(ctx, id, limit)
		if err != nil || len(runs) == 0 {
			return nil, nil, err
		}
		if i := slices.IndexFunc(runs, func(r record.Run) bool { return !slices.Equal(r.Takes, runs[0].Takes) }); i > 0 {
			return &runs[0], &runs[i], nil
		}
		if len(runs) < limit || limit == mostRuns {
			if len(runs) < 2 {
				return &runs[0], nil, nil
			}
			return &runs[0], &runs[1], nil
		}
	}
}

// added lists the takes that only the newer run measured.
func (h *handlers) added(ctx context.Context, id int64, older, newer []int64) ([]TakeOutput, error) {
	takes, err := h.Store.Takes(ctx, id)
	if err != nil {
		return nil, err
	}
	had := map[int64]bool{}
	for _, t := range older {
		had[t] = true
	}
	out := []TakeOutput{}
	for _, n := range newer {
		for _, t := range toTakes(takes) {
			if t.ID == n && !had[n] {
				out = append(out, t)
			}
		}
	}
	return out, nil
}
