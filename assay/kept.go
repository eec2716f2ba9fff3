package assay

import (
	"fmt"

	"crownassay/conformity"
	"crownassay/record"
	"crownassay/tooth"
	"crownassay/unit"
)

// OfKept is a case of the store as it is measured, without its surfaces and its
// finish line.
func OfKept(k record.Kept) (*Case, error) {
	c := &Case{Path: fmt.Sprintf("case %d", k.ID), Numbering: tooth.Numbering(k.Numbering), Unit: k.Unit, At: k.At, ScannerUM: k.ScannerUM,
		LimitsFile: k.Own.File}
	var err error
	if c.Limits, err = conformity.With(k.Own.File, k.Own.Text); err != nil {
		return nil, err
	}
	if c.Tooth, err = tooth.Parse(k.Tooth, c.Numbering); err != nil {
		return nil, err
	}
	if c.Material, err = c.Limits.Material(k.Material); err != nil {
		return nil, err
	}
	var ok bool
	if c.Scale, ok = unit.MillimetresPer(k.Unit); !ok {
		return nil, fmt.Errorf("read unit %q: unknown; use mm, um, cm, m or in", k.Unit)
	}
	if k.Mesial != nil {
		m := k.Mesial.Unit()
		c.Mesial = &m
	}
	return c, c.milled(k)
}

// milled takes over what is said of the mill and the cement.
func (c *Case) milled(k record.Kept) error {
	c.CementSpace, c.ToolRadius, c.Blocks = c.Limits.CementSpace.MM, c.Limits.ToolRadius.MM, c.Limits.Blocks
	if k.CementUM != nil {
		c.CementSpace = *k.CementUM / 1000
	}
	if k.ToolUM != nil {
		c.ToolRadius = *k.ToolUM / 1000
	}
	if k.Block == "" {
		return nil
	}
	b, err := c.Limits.Block(k.Block)
	if err != nil {
		return err
	}
	c.Blocks = []conformity.Block{b}
	return nil
}
