package web

import (
	"context"
	"fmt"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/sse"

	"crownassay/record"
)

type jobInput struct {
	Job int64 `path:"job" minimum:"1"`
}

type jobOutput struct{ Body JobOutput }

// FirstEvent says that first readings can be had.
type FirstEvent struct {
	Job int64 `json:"job"`
}

// EndEvent says that nothing more will come.
type EndEvent struct {
	Job   int64  `json:"job"`
	State string `json:"state" enum:"done,failed,cancelled"`
}

// jobs registers what is done with jobs.
func (h *handlers) jobs(api huma.API) {
	start := op("start-job", "POST", "/api/cases/{id}/jobs", "Measure a case. A job that is under way already is returned.", "jobs", 404, 422)
	start.DefaultStatus = 202
	huma.Register(api, start, h.startJob)
	huma.Register(api, op("get-job", "GET", "/api/jobs/{job}", "How far a job is.", "jobs", 404), h.getJob)
	huma.Register(api, op("cancel-job", "DELETE", "/api/jobs/{job}", "Stop a job.", "jobs", 404), h.cancelJob)
	huma.Register(api, document(op("get-first-record", "GET", "/api/jobs/{job}/record",
		"The record as far as it is there; only while the job runs.", "jobs", 404)), h.firstRecord)
	sse.Register(api, op("watch-job", "GET", "/api/jobs/{job}/events", "Progress as it comes.", "jobs"),
		map[string]any{"progress": JobOutput{}, "first": FirstEvent{}, "end": EndEvent{}}, h.watchJob)
}

func (h *handlers) startJob(ctx context.Context, in *CaseNumber) (*jobOutput, error) {
	if _, err := h.Store.Case(ctx, in.ID); err != nil {
		return nil, failure(err)
	}
	takes, err := h.Store.Takes(ctx, in.ID)
	if err != nil {
		return nil, failure(err)
	}
	if _, ok := record.Current(takes)["prepared"]; !ok {
		return nil, failure(&Refusal{"no take is confirmed as the prepared arch: add its scan and confirm its role"})
	}
	j, err := h.Queue.Start(ctx, in.ID)
	return &jobOutput{toJob(j)}, failure(err)
}

func (h *handlers) getJob(ctx context.Context, in *jobInput) (*jobOutput, error) {
	j, err := h.Queue.Job(ctx, in.Job)
	return &jobOutput{toJob(j)}, failure(err)
}

func (h *handlers) cancelJob(ctx context.Context, in *jobInput) (*jobOutput, error) {
	j, err := h.Queue.Cancel(ctx, in.Job)
	return &jobOutput{toJob(j)}, failure(err)
}

func (h *handlers) firstRecord(ctx context.Context, in *jobInput) (*documentOutput, error) {
	if d := h.Queue.First(in.Job); d != nil {
		return &documentOutput{Type: "application/json", Body: d}, nil
	}
	return nil, failure(fmt.Errorf("find first readings of job %d: %w", in.Job, record.ErrNotFound))
}

// watchJob sends progress until the job has ended.
func (h *handlers) watchJob(ctx context.Context, in *jobInput, send sse.Sender) {
	ch, err := h.Queue.Watch(ctx, in.Job)
	if err != nil {
		_ = send.Data(EndEvent{in.Job, string(record.JobFailed)}) // who went away needs no answer
		return
	}
	first := false
	for j := range ch {
		if send.Data(toJob(j)) != nil {
			return
		}
		if j.First && !first {
			first = true
			_ = send.Data(FirstEvent{j.ID})
		}
		if j.Ended() {
			_ = send.Data(EndEvent{j.ID, string(j.State)})
			return
		}
	}
}
