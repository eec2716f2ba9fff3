package web

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/audit"
	"crownassay/internal/par"
	"crownassay/reading"
	"crownassay/record"
)

// AuditOutput is a look over the newest runs of all cases.
type AuditOutput struct {
	audit.Report
	Waiting int `json:"waiting" doc:"Cases with scans that have not been measured yet; they are not among the others."`
}

type auditOutput struct{ Body AuditOutput }

type auditReadingInput struct {
	Reading string `path:"reading" maxLength:"100" doc:"Its id."`
}

type auditReadingOutput struct{ Body *audit.Detail }

type auditTableInput struct {
	Table string `path:"table" enum:"readings,summary" doc:"readings has a row for each case and reading, summary one for each reading."`
}

// AuditJobs is how far measuring all cases again is.
type AuditJobs struct {
	Cases   int `json:"cases" doc:"That can be measured: their prepared arch is confirmed."`
	Under   int `json:"under_way" doc:"That wait or are being measured."`
	Failed  int `json:"failed" doc:"Whose newest measuring failed."`
	Started int `json:"started" doc:"By this request."`
}

type auditJobsOutput struct{ Body AuditJobs }

// audits registers what is asked over all cases.
func (h *handlers) audits(api huma.API) {
	const tag = "audit"
	huma.Register(api, op("get-audit", "GET", "/api/audit", "All readings over the newest runs of all cases: distributions, limits, shares failing.", tag), h.audit)
	huma.Register(api, op("get-audit-reading", "GET", "/api/audit/readings/{reading}", "One reading by dentist, tooth and month, and over time.", tag, 404), h.auditReading)
	o := op("get-audit-table", "GET", "/api/audit/tables/{table}", "The audit as CSV.", tag)
	o.Responses = map[string]*huma.Response{"200": {Description: "The table.", Content: map[string]*huma.MediaType{"text/csv": {Schema: &huma.Schema{Type: "string", Format: "binary"}}}}}
	huma.Register(api, o, h.auditTable)
	start := op("start-audit-jobs", "POST", "/api/audit/jobs", "Measure all cases again.", tag)
	start.DefaultStatus = 202
	huma.Register(api, start, h.startAuditJobs)
	huma.Register(api, op("stop-audit-jobs", "DELETE", "/api/audit/jobs", "Stop measuring all cases again; what has been measured is kept.", tag), h.stopAuditJobs)
	huma.Register(api, op("get-audit-jobs", "GET", "/api/audit/jobs", "How far that is.", tag), h.auditJobs)
}

// looked is what the audit has taken of cases, until they change.
type looked struct {
	mu  sync.Mutex
	has map[int64]lookedAt
}

type lookedAt struct {
	changed int64 // of the case, microseconds
	scans   bool
	of      audit.Case // without readings or problem where it was not measured yet
}

// auditCases are all cases with a run, and how many have scans but no run.
func (h *handlers) auditCases(ctx context.Context) (out []audit.Case, waiting int, err error) {
	all, err := h.Store.Cases(ctx)
	if err != nil {
		return nil, 0, err
	}
	slices.SortFunc(all, func(a, b record.Kept) int { return cmp.Compare(a.ID, b.ID) })
	h.looked.mu.Lock()
	defer h.looked.mu.Unlock()
	now, errs := make([]lookedAt, len(all)), make([]error, len(all))
	err = par.Do(ctx, len(all), 1, func(i, _ int) {
		k := &all[i]
		at, ok := h.looked.has[k.ID]
		if !ok || at.changed != k.Changed.UnixMicro() {
			at, errs[i] = h.auditCase(ctx, k)
		}
		now[i] = at
	})
	if err := errors.Join(append(errs, err)...); err != nil {
		return nil, 0, err
	}
	h.looked.has = map[int64]lookedAt{}
	for i, at := range now {
		h.looked.has[all[i].ID] = at
		switch {
		case at.of.Readings != nil || at.of.Problem != "":
			out = append(out, at.of)
		case at.scans:
			waiting++
		}
	}
	return out, waiting, nil
}

// auditCase takes a case from its newest run and its record.
func (h *handlers) auditCase(ctx context.Context, k *record.Kept) (lookedAt, error) {
	name := fmt.Sprintf("case %d", k.ID)
	at := lookedAt{changed: k.Changed.UnixMicro(), of: audit.Case{Name: name}}
	runs, err := h.Store.Runs(ctx, k.ID, 1)
	if err != nil {
		return at, err
	}
	if len(runs) == 0 {
		takes, err := h.Store.Takes(ctx, k.ID)
		at.scans = len(takes) > 0
		return at, err
	}
	entries, err := record.Entries(ctx, h.Store.Book(k.ID))
	var fault *record.Fault
	if errors.As(err, &fault) {
		at.of.Problem = "its record is not right: " + fault.Error()
		return at, nil
	}
	if err != nil {
		return at, err
	}
	d, err := record.ReadDocument(runs[0].Document)
	if err != nil {
		at.of.Problem = err.Error()
		return at, nil
	}
	at.of, err = audit.Of(name, d, audit.AboutOf(entries))
	return at, err
}

func (h *handlers) audit(ctx context.Context, _ *struct{}) (*auditOutput, error) {
	cases, waiting, err := h.auditCases(ctx)
	if err != nil {
		return nil, failure(err)
	}
	return &auditOutput{AuditOutput{*audit.Make(cases), waiting}}, nil
}

func (h *handlers) auditReading(ctx context.Context, in *auditReadingInput) (*auditReadingOutput, error) {
	cases, _, err := h.auditCases(ctx)
	if err != nil {
		return nil, failure(err)
	}
	d := audit.Look(cases, reading.ID(in.Reading))
	if d == nil {
		return nil, failure(fmt.Errorf("find the reading %s in any case: %w", in.Reading, record.ErrNotFound))
	}
	return &auditReadingOutput{d}, nil
}

func (h *handlers) auditTable(ctx context.Context, in *auditTableInput) (*fileOutput, error) {
	cases, _, err := h.auditCases(ctx)
	if err != nil {
		return nil, failure(err)
	}
	var b bytes.Buffer
	if in.Table == "summary" {
		err = audit.Make(cases).WriteSummary(&b)
	} else {
		err = audit.WriteValues(&b, cases)
	}
	return &fileOutput{"text/csv; charset=utf-8", fmt.Sprintf("attachment; filename=%q", "audit-"+in.Table+".csv"), b.Bytes()}, failure(err)
}

func (h *handlers) startAuditJobs(ctx context.Context, _ *struct{}) (*auditJobsOutput, error) {
	return h.eachAuditJob(ctx, func(id int64, out *AuditJobs) error {
		_, err := h.Queue.Start(ctx, id)
		out.Started++
		return err
	})
}

func (h *handlers) stopAuditJobs(ctx context.Context, _ *struct{}) (*auditJobsOutput, error) {
	return h.eachAuditJob(ctx, func(id int64, _ *AuditJobs) error {
		j, err := h.Queue.Latest(ctx, id)
		if errors.Is(err, record.ErrNotFound) || err == nil && j.Ended() {
			return nil
		}
		if err == nil {
			_, err = h.Queue.Cancel(ctx, j.ID)
		}
		return err
	})
}

func (h *handlers) auditJobs(ctx context.Context, _ *struct{}) (*auditJobsOutput, error) {
	return h.eachAuditJob(ctx, func(int64, *AuditJobs) error { return nil })
}

// eachAuditJob does something with each case that can be measured and counts
// their newest jobs.
func (h *handlers) eachAuditJob(ctx context.Context, do func(int64, *AuditJobs) error) (*auditJobsOutput, error) {
	all, err := h.Store.Cases(ctx)
	if err != nil {
		return nil, failure(err)
	}
	out := &auditJobsOutput{}
	for _, k := range all {
		takes, err := h.Store.Takes(ctx, k.ID)
		if err != nil {
			return nil, failure(err)
		}
		if _, ok := record.Current(takes)["prepared"]; !ok {
			continue
		}
		out.Body.Cases++
		if err := do(k.ID, &out.Body); err != nil {
			return nil, failure(err)
		}
		j, err := h.Queue.Latest(ctx, k.ID)
		switch {
		case errors.Is(err, record.ErrNotFound):
		case err != nil:
			return nil, failure(err)
		case j.State == record.JobFailed:
			out.Body.Failed++
		case !j.Ended():
			out.Body.Under++
		}
	}
	return out, nil
}
