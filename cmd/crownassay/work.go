package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"time"

	"crownassay/audit"
	"crownassay/audit/results"
	"crownassay/internal/par"
	"crownassay/jobs"
	"crownassay/meshstore"
	"crownassay/parcel"
)

// fleetFlags say where the machines of an audit meet.
type fleetFlags struct {
	Jobs   string `env:"CROWNASSAY_AUDIT_JOBS" placeholder:"ADDRESS" help:"PostgreSQL database that keeps jobs and results, as postgres://USER@HOST/DATABASE; a password is better given in PGPASSWORD or a password file."`
	Meshes string `placeholder:"ADDRESS" help:"Where mesh files lie for all machines: a shared folder, or s3://BUCKET/PREFIX with CROWNASSAY_S3_ENDPOINT, CROWNASSAY_S3_KEY and CROWNASSAY_S3_SECRET in the environment."`
}

// meeting is where the machines of an audit meet.
type meeting struct {
	meshes  meshstore.Store
	results *results.Results
	fleet   *jobs.Fleet
}

// open opens it; work is what is done with a case, nil where cases are only
// queued.
func (f *fleetFlags) open(p *program, atOnce int, work func(*meeting, context.Context, jobs.Piece) error) (m *meeting, err error) {
	if f.Jobs == "" || f.Meshes == "" {
		return nil, errors.New("read the command line: several machines need both --jobs and --meshes")
	}
	m = &meeting{}
	if m.meshes, err = meshstore.Open(p.ctx, f.Meshes); err != nil {
		return nil, err
	}
	if m.results, err = results.OpenPostgres(p.ctx, f.Jobs); err != nil {
		return nil, err
	}
	c := jobs.FleetConfig{Address: f.Jobs, AtOnce: atOnce, Trouble: func(err error) { fmt.Fprintln(p.stderr, "crownassay:", err) }}
	if work != nil {
		c.Work = func(ctx context.Context, of jobs.Piece) error { return work(m, ctx, of) }
	}
	if m.fleet, err = jobs.OpenFleet(p.ctx, c); err != nil {
		return nil, errors.Join(err, m.results.Close())
	}
	return m, nil
}

func (m *meeting) close() error {
	ctx, stop := context.WithTimeout(context.Background(), 10*time.Second)
	defer stop()
	return errors.Join(m.fleet.Close(ctx), m.results.Close())
}

type workCommand struct {
	fleetFlags
	AtOnce  int `default:"2" placeholder:"N" help:"Cases at a time."`
	Workers int `placeholder:"N" help:"Use N processors instead of all; the result is the same."`
}

// Run measures cases that audits have queued until it is interrupted.
func (c *workCommand) Run(p *program) error {
	if c.AtOnce < 1 || c.Workers < 0 {
		return errors.New("read the command line: --at-once and --workers must be above zero")
	}
	par.Workers = c.Workers
	m, err := c.open(p, c.AtOnce, func(m *meeting, ctx context.Context, piece jobs.Piece) error {
		start := time.Now()
		r, err := m.measure(ctx, piece)
		if err != nil {
			fmt.Fprintf(p.stderr, "crownassay: %s: %v\n", piece.Name, err)
			return err
		}
		fmt.Fprintf(p.stderr, "crownassay: %s: %s, %.1f s\n", piece.Name, r.Kind, time.Since(start).Seconds())
		return nil
	})
	if err != nil {
		return err
	}
	fmt.Fprintln(p.stderr, "crownassay: ready to measure cases of audits; Ctrl-C ends it, and what is not done goes to other workers")
	<-p.ctx.Done()
	return m.close()
}

// measure measures a piece and keeps the result; one that is there already is
// left. An error says that a store could not be reached.
func (m *meeting) measure(ctx context.Context, piece jobs.Piece) (audit.Result, error) {
	if r, ok, err := m.results.Get(ctx, piece.Key); err != nil || ok {
		return r, err
	}
	var p parcel.Parcel
	if err := json.Unmarshal(piece.Parcel, &p); err != nil {
		return audit.Result{}, fmt.Errorf("read the case: %w", err)
	}
	dir, err := os.MkdirTemp("", "crownassay-")
	if err != nil {
		return audit.Result{}, err
	}
	defer os.RemoveAll(dir)
	packed, err := p.Unpack(ctx, dir, m.meshes.Get)
	if err != nil {
		return audit.Result{}, err
	}
	r := audit.Guard(ctx, piece.Longest, packed.Measure)
	if err := ctx.Err(); err != nil && r.Kind != audit.Measured {
		return r, err
	}
	return r, m.results.Put(context.WithoutCancel(ctx), piece.Key, piece.Name, r)
}
