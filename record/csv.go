package record

import (
	"encoding/csv"
	"io"
	"strconv"
)

// csvColumns are the columns of the table of readings; a contract that grows
// at its end.
var csvColumns = []string{"tooth", "numbering", "material", "hold_point", "id", "name", "value", "unit", "uncertainty", "verdict", "limit_min", "limit_max",
	"limit_source", "limit_status", "azimuth", "sector", "x", "y", "z", "note", "reason", "next"}

// WriteCSV writes the readings as a table (RFC 4180, UTF-8): a line of names
// and one a reading, in the order of the document. Numbers have a point and all
// digits of the document; what is not there is empty.
func (d *Document) WriteCSV(w io.Writer) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	if err := c.Write(csvColumns); err != nil {
		return err
	}
	for i := range d.Readings {
		if err := c.Write(d.row(&d.Readings[i])); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

func (d *Document) row(r *DocReading) []string {
	row := []string{d.Tooth, d.Numbering, d.Material, string(r.HoldPoint), string(r.ID), r.Name, exact(r.Value), string(r.Unit), exact(r.Uncertainty), string(r.Verdict)}
	if l := r.Limit; l != nil {
		row = append(row, exact(l.Min), exact(l.Max), l.Source, l.Status)
	} else {
		row = append(row, "", "", "", "")
	}
	if p := r.At; p != nil {
		row = append(row, exact(p.Azimuth), r.SectorText(), exact(&p.Point[0]), exact(&p.Point[1]), exact(&p.Point[2]))
	} else {
		row = append(row, "", "", "", "", "")
	}
	return append(row, r.Note, r.Reason, r.Next)
}

// exact is a number with all its digits; empty for none.
func exact(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'f', -1, 64)
}
