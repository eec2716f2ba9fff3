package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"crownassay/assay"
	"crownassay/gauge"
	"crownassay/record"
	"crownassay/web"
)

// input is what a case is measured from.
type input struct {
	c     *assay.Case
	takes []int64
	line  record.Drawn // ID 0 for the traced one
	key   string       // of all of it but the line
}

// tag is a short word for the key.
func (in *input) tag() string {
	s := sha256.Sum256([]byte(in.key))
	return hex.EncodeToString(s[:8])
}

// lineTag says which finish line it is about.
func (in *input) lineTag() string { return fmt.Sprintf("%s-%d", in.tag(), in.line.ID) }

// input gathers it from the store.
func (d *Desk) input(ctx context.Context, id int64) (in input, err error) {
	k, err := d.store.Case(ctx, id)
	if err != nil {
		return in, err
	}
	if in.c, err = assay.OfKept(k); err != nil {
		return in, &web.Refusal{Text: err.Error()}
	}
	if in.c.ScannerUM == 0 {
		take, err := Scanner(ctx, d.store)
		if err != nil {
			return in, err
		}
		take(in.c)
	}
	takes, err := d.store.Takes(ctx, id)
	if err != nil {
		return in, err
	}
	now := record.Current(takes)
	for _, role := range assay.Roles {
		t, ok := now[string(role)]
		if !ok {
			continue
		}
		at, err := d.store.MeshPath(ctx, t.SHA256)
		if err != nil {
			return in, err
		}
		in.c.Surfaces = append(in.c.Surfaces, assay.Source{Role: role, File: t.File, Path: at})
		in.takes = append(in.takes, t.ID)
	}
	if _, ok := now[string(assay.Prepared)]; !ok {
		return in, &web.Refusal{Text: record.ErrNoPrepared.Error()}
	}
	in.key = fmt.Sprintf("%q %v %v %v %v %v", []string{k.Tooth, k.Numbering, k.Material, k.Unit, k.Block, k.Own.File, k.Own.Text},
		in.c.ScannerUM, in.c.At, in.c.Mesial, []float64{in.c.CementSpace, in.c.ToolRadius}, in.takes)
	if in.c.ScannerFrom != "" {
		in.key += in.c.ScannerFrom
	}
	lines, err := d.store.Lines(ctx, id)
	in.line = record.HeldLine(lines)
	in.c.FinishLine = in.line.Points
	return in, err
}

// Scanner gives cases that state no uncertainty of their scanner that of the
// practice's own newest check.
func Scanner(ctx context.Context, s record.Store) (func(*assay.Case), error) {
	checks, err := s.ScannerChecks(ctx)
	if err != nil {
		return nil, err
	}
	r, err := gauge.OnRecord(record.Holding(checks))
	return func(c *assay.Case) {
		if r != nil && c.ScannerUM == 0 {
			c.ScannerUM, c.ScannerFrom = r.ScannerUM, r.Source()
		}
	}, err
}
