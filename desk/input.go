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
	if err := d.scanner(ctx, in.c); err != nil {
		return in, err
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
		return in, &web.Refusal{Text: "no take is confirmed as the prepared arch: add its scan and confirm its role"}
	}
	in.key = fmt.Sprintf("%q %v %v %v %v %v", []string{k.Tooth, k.Numbering, k.Material, k.Unit, k.Block, k.Own.File, k.Own.Text},
		in.c.ScannerUM, in.c.At, in.c.Mesial, []float64{in.c.CementSpace, in.c.ToolRadius}, in.takes)
	if in.c.ScannerFrom != "" {
		in.key += in.c.ScannerFrom
	}
	return in, d.drawnLine(ctx, id, &in)
}

// scanner takes the uncertainty of the practice's own check of its scanner where
// the case states none.
func (d *Desk) scanner(ctx context.Context, c *assay.Case) error {
	if c.ScannerUM != 0 {
		return nil
	}
	checks, err := d.store.ScannerChecks(ctx)
	if err != nil {
		return err
	}
	r, err := gauge.OnRecord(record.Holding(checks))
	if r != nil {
		c.ScannerUM, c.ScannerFrom = r.ScannerUM, r.Source()
	}
	return err
}

// drawnLine finds the operator's line that holds.
func (d *Desk) drawnLine(ctx context.Context, id int64, in *input) error {
	lines, err := d.store.Lines(ctx, id)
	if err != nil {
		return err
	}
	for _, l := range lines {
		if !l.Undone {
			in.line = l
		}
	}
	in.c.FinishLine = in.line.Points
	return nil
}
