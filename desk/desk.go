package desk

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"strings"
	"sync"

	"crownassay/assay"
	"crownassay/record"
	"crownassay/web"
)

// most is how many cases are held: five surfaces of 200,000 facets take about
// 150 MB.
const most = 3

// Desk holds cases open.
type Desk struct {
	store record.Store

	mu    sync.Mutex
	cases []*held // the one looked at last first

	aside   sync.WaitGroup // pictures that are being set aside
	closing chan struct{}
}

var _ web.Measurer = (*Desk)(nil)

// New returns an empty desk over a store.
func New(s record.Store) *Desk { return &Desk{store: s, closing: make(chan struct{})} }

// Close waits until what is being set aside is, and begins no more.
func (d *Desk) Close() {
	close(d.closing)
	d.aside.Wait()
}

// held is one case as measured.
type held struct {
	id int64

	mu   sync.Mutex // held while the case is measured
	key  string     // of what base was measured from, the line apart
	base *assay.Measured
	line int64 // the drawn line that base was measured with; 0 for none

	drawn drawing // the newest line that was tried
	shelf *shelf  // the case as it was set aside; nil until it was looked for and found
	kept  string  // tag of what is set aside, or about to be
}

// drawing is a case about a line that was drawn on it.
type drawing struct {
	given    string // the points, as text
	measured *assay.Measured
	answer   web.Redrawn
}

// of returns the place of a case, and makes it the one looked at last.
func (d *Desk) of(id int64) *held {
	d.mu.Lock()
	defer d.mu.Unlock()
	i := slices.IndexFunc(d.cases, func(h *held) bool { return h.id == id })
	h := &held{id: id}
	if i >= 0 {
		h = d.cases[i]
		d.cases = slices.Delete(d.cases, i, i+1)
	}
	d.cases = slices.Insert(d.cases, 0, h)
	d.cases = d.cases[:min(len(d.cases), most)]
	return h
}

// Measure measures a case anew and keeps the run. It is a job's work.
func (d *Desk) Measure(ctx context.Context, id int64, opt Telling) error {
	h := d.of(id)
	h.mu.Lock()
	defer h.mu.Unlock()
	in, err := d.input(ctx, id)
	if err != nil {
		return err
	}
	if err := h.measure(ctx, in, opt.options()); err != nil {
		return err
	}
	doc, err := document(h.base.Record)
	if err != nil {
		return err
	}
	if _, err = d.store.AddRun(ctx, record.Run{Case: id, Takes: in.takes, Line: h.line, Document: doc}); err != nil {
		return err
	}
	d.setAside(h, in.tag(), in.lineTag(), h.base, behind)
	return nil
}

// Adopt takes up a case of the store that was measured elsewhere, and sets
// aside what is drawn of it.
func (d *Desk) Adopt(ctx context.Context, id int64, m *assay.Measured) error {
	h := d.of(id)
	h.mu.Lock()
	defer h.mu.Unlock()
	in, err := d.input(ctx, id)
	if err != nil {
		return err
	}
	h.base, h.key, h.line, h.drawn = m, in.key, in.line.ID, drawing{}
	d.setAside(h, in.tag(), in.lineTag(), m, 0)
	return nil
}

// Telling is told how far measuring is.
type Telling struct {
	Step  func(step string, done, total int)
	First func(document []byte)
}

func (t Telling) options() assay.Options {
	return assay.Options{Progress: t.Step, First: func(r *record.Record) {
		if doc, err := document(r); err == nil && t.First != nil {
			t.First(doc)
		}
	}}
}

// measure fills a place whose lock is held.
func (h *held) measure(ctx context.Context, in input, opt assay.Options) error {
	m, err := assay.Measure(ctx, in.c, opt)
	if err != nil {
		return in.readable(err)
	}
	h.base, h.key, h.line, h.drawn = m, in.key, in.line.ID, drawing{}
	return nil
}

// sight returns a case as it stands in the store, to be drawn: held open, or
// as it was set aside, or else measured.
func (d *Desk) sight(ctx context.Context, id int64) (sight, error) {
	h := d.of(id)
	h.mu.Lock()
	defer h.mu.Unlock()
	in, err := d.input(ctx, id)
	if err != nil {
		return nil, err
	}
	if h.base == nil || h.key != in.key {
		if s := d.shelved(ctx, h, &in); s != nil {
			return s, nil
		}
	}
	m, err := h.current(ctx, in)
	if err != nil {
		return nil, err
	}
	d.setAside(h, in.tag(), in.lineTag(), m, quiet)
	return &open{m, in.tag()}, nil
}

// current returns the case about the line that holds, measured where it is
// not. The lock is held.
func (h *held) current(ctx context.Context, in input) (*assay.Measured, error) {
	if h.base == nil || h.key != in.key || h.line != in.line.ID && in.line.ID == 0 {
		if err := h.measure(ctx, in, assay.Options{}); err != nil {
			return nil, err
		}
	}
	if h.line == in.line.ID {
		return h.base, nil
	}
	if err := h.draw(ctx, in.line.Points); err != nil {
		return nil, &web.Refusal{Text: err.Error()}
	}
	return h.drawn.measured, nil
}

// Open returns a case as it stands in the store, measured.
func (d *Desk) Open(ctx context.Context, id int64) (*assay.Measured, error) {
	h := d.of(id)
	h.mu.Lock()
	defer h.mu.Unlock()
	in, err := d.input(ctx, id)
	if err != nil {
		return nil, err
	}
	return h.current(ctx, in)
}

// document is a record as JSON.
func document(r *record.Record) ([]byte, error) {
	var b bytes.Buffer
	err := r.WriteJSON(&b)
	return b.Bytes(), err
}

// readable names files in an error as the operator knows them, and turns what
// is wrong with a case into a refusal.
func (in *input) readable(err error) error {
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	text := err.Error()
	for _, s := range in.c.Surfaces {
		text = strings.ReplaceAll(text, s.Path, s.File)
	}
	return &web.Refusal{Text: text}
}
