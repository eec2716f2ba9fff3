package gauge

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"crownassay/internal/text"
)

// WriteJSON writes the result as one JSON document and a line end.
func (r *Result) WriteJSON(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(r)
}

// Read reads a document that WriteJSON made.
func Read(doc []byte) (*Result, error) {
	var r Result
	if err := json.Unmarshal(doc, &r); err != nil {
		return nil, fmt.Errorf("read a scanner check: %w", err)
	}
	if r.Format != Format || !(r.ScannerUM > 0) {
		return nil, fmt.Errorf("read a scanner check: it is of the form %q, and %q is known", r.Format, Format)
	}
	return &r, nil
}

// sheetWidth is the width of the sheet in characters: a page of A4 in a common
// size.
const sheetWidth = 96

// WriteSheet writes the result as a dated sheet of plain text.
func (r *Result) WriteSheet(w io.Writer) error {
	var b strings.Builder
	row := func(name, value string) {
		if value != "" {
			for _, l := range text.Wrap(text.Left(name, 16), value, sheetWidth) {
				fmt.Fprintln(&b, strings.TrimRight(l, " "))
			}
		}
	}
	fmt.Fprintln(&b, "CHECK OF A SCANNER ON A REFERENCE BODY")
	fmt.Fprintln(&b)
	row("made", r.Made.Format(time.RFC3339))
	row("scanner", r.Scanner)
	row("by", r.Who)
	row("body", r.Body.String()+", "+string(r.Body.Kind))
	row("certificate", r.Body.Certificate)
	row("calibrated", r.Body.Calibrated)
	row("description", "SHA-256 "+r.Body.SHA256)
	r.dimensions(&b)
	r.scans(&b)
	fmt.Fprintln(&b)
	row("noise", fmt.Sprintf("%.1f um, standard deviation over less than 1 mm, after the fit", r.NoiseUM))
	row("form", fmt.Sprintf("%.1f um, standard deviation from one millimetre to the next, after the fit", r.FormUM))
	row("uncertainty", fmt.Sprintf("%.1f um (k = 2) of one scanned surface over one tooth, from the %s: error not corrected, its uncertainty, "+
		"scatter of one scan and form. The noise is not in it; each case's own scan shows its own.", r.ScannerUM, r.Decided))
	for _, n := range r.Notes {
		row("note", n)
	}
	fmt.Fprintln(&b)
	for _, l := range text.Wrap("", "Error: indication less calibrated value, mean of the scans (trueness). +-: expanded uncertainty, about 95 %, "+
		"with the calibration's. s: standard deviation of the repeats (repeatability). U: expanded uncertainty of such a dimension scanned once and "+
		"not corrected; * counts for one tooth. Methods of this kind stand in ISO 12836 and ISO 20896-1, which set no pass limit; this sheet is the "+
		"practice's own check and no accredited certificate.", sheetWidth) {
		fmt.Fprintln(&b, l)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// dimensions is the table of them: lengths in um beside their size in mm.
func (r *Result) dimensions(b *strings.Builder) {
	fmt.Fprintf(b, "\n%-20s%12s%10s%12s%9s%9s%5s%10s\n", "dimension", "calibrated", "+-", "error", "+-", "s", "dof", "U")
	for _, d := range r.Dimensions {
		star := " "
		if d.Counts {
			star = "*"
		}
		if d.Unit == "deg" {
			fmt.Fprintf(b, "%-20s%9.4f deg%6.4f deg%8.4f deg%9.4f%9.4f%5d%10.4f%s\n", d.Name, d.Calibrated, d.CalibratedU, d.Trueness, d.TruenessU, d.Scatter, d.DOF, d.Expanded, star)
			continue
		}
		fmt.Fprintf(b, "%-20s%9.4f mm%7.1f um%9.1f um%9.1f%9.1f%5d%10.1f%s\n", d.Name, d.Calibrated, 1000*d.CalibratedU, 1000*d.Trueness, 1000*d.TruenessU,
			1000*d.Scatter, d.DOF, 1000*d.Expanded, star)
	}
}

func (r *Result) scans(b *strings.Builder) {
	fmt.Fprintf(b, "\n%-28s%10s%10s%10s%10s  %s\n", "scan", "points", "rms um", "noise um", "form um", "SHA-256")
	for _, s := range r.Scans {
		fmt.Fprintf(b, "%-28s%10d%10.1f%10.1f%10.1f  %s\n", s.File, s.Points, s.RMSUM, s.NoiseUM, s.FormUM, s.SHA256[:16])
	}
}
