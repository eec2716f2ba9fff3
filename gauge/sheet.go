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

// Table is a table of the sheet: the first column is text, the others are set
// flush right.
type Table struct {
	Head []string
	Rows [][]string
}

// Sheet is what the dated sheet of a check says, for any paper.
type Sheet struct {
	Title      string
	Facts      [][2]string
	Dimensions Table
	Scans      Table
	Results    [][2]string
	Says       string // what the columns are, and what the sheet is not
}

// Sheet returns the sheet of the result.
func (r *Result) Sheet() Sheet {
	s := Sheet{Title: "Check of a scanner on a reference body"}
	for _, f := range [][2]string{{"made", r.Made.Format(time.RFC3339)}, {"scanner", r.Scanner}, {"by", r.Who}, {"body", r.Body.String() + ", " + string(r.Body.Kind)},
		{"certificate", r.Body.Certificate}, {"calibrated", r.Body.Calibrated}, {"description", "SHA-256 " + r.Body.SHA256}} {
		if f[1] != "" {
			s.Facts = append(s.Facts, f)
		}
	}
	s.Dimensions.Head = []string{"dimension", "calibrated", "+-", "error", "+-", "s", "dof", "U"}
	for _, d := range r.Dimensions {
		s.Dimensions.Rows = append(s.Dimensions.Rows, d.row())
	}
	s.Scans.Head = []string{"scan", "points", "rms um", "noise um", "form um", "SHA-256"}
	for _, c := range r.Scans {
		s.Scans.Rows = append(s.Scans.Rows, []string{c.File, fmt.Sprint(c.Points), fmt.Sprintf("%.1f", c.RMSUM), fmt.Sprintf("%.1f", c.NoiseUM), fmt.Sprintf("%.1f", c.FormUM), c.SHA256[:16]})
	}
	s.Results = [][2]string{
		{"noise", fmt.Sprintf("%.1f um, standard deviation over less than 1 mm, after the fit", r.NoiseUM)},
		{"form", fmt.Sprintf("%.1f um, standard deviation from one millimetre to the next, after the fit", r.FormUM)},
		{"uncertainty", fmt.Sprintf("%.1f um (k = 2) of one scanned surface over one tooth, from the %s: error not corrected, its uncertainty, "+
			"scatter of one scan and form. The noise is not in it; each case's own scan shows its own.", r.ScannerUM, r.Decided)},
	}
	for _, n := range r.Notes {
		s.Results = append(s.Results, [2]string{"note", n})
	}
	s.Says = "Error: indication less calibrated value, mean of the scans (trueness). +-: expanded uncertainty, about 95 %, " +
		"with the calibration's. s: standard deviation of the repeats (repeatability). U: expanded uncertainty of such a dimension scanned once and " +
		"not corrected; * counts for one tooth. Methods of this kind stand in ISO 12836 and ISO 20896-1, which set no pass limit; this sheet is the " +
		"practice's own check and no accredited certificate."
	return s
}

// row is a line of the dimensions: lengths in um beside their size in mm.
func (d *Dimension) row() []string {
	star := ""
	if d.Counts {
		star = "*"
	}
	dof := fmt.Sprint(d.DOF)
	if d.Unit == "deg" {
		deg := func(x float64) string { return fmt.Sprintf("%.4f deg", x) }
		return []string{d.Name, deg(d.Calibrated), deg(d.CalibratedU), deg(d.Trueness), deg(d.TruenessU), deg(d.Scatter), dof, deg(d.Expanded) + star}
	}
	um := func(x float64) string { return fmt.Sprintf("%.1f um", 1000*x) }
	return []string{d.Name, fmt.Sprintf("%.4f mm", d.Calibrated), um(d.CalibratedU), um(d.Trueness), um(d.TruenessU), um(d.Scatter), dof, um(d.Expanded) + star}
}

// sheetWidth is the width of the sheet in characters: a page of A4 in a common
// size.
const sheetWidth = 96

// WriteSheet writes the sheet as plain text.
func (r *Result) WriteSheet(w io.Writer) error {
	s := r.Sheet()
	var b strings.Builder
	facts := func(fs [][2]string) {
		for _, f := range fs {
			for _, l := range text.Wrap(text.Left(f[0], 16), f[1], sheetWidth) {
				fmt.Fprintln(&b, l)
			}
		}
	}
	fmt.Fprintf(&b, "%s\n\n", strings.ToUpper(s.Title))
	facts(s.Facts)
	s.Dimensions.write(&b)
	s.Scans.write(&b)
	b.WriteByte('\n')
	facts(s.Results)
	b.WriteByte('\n')
	for _, l := range text.Wrap("", s.Says, sheetWidth) {
		fmt.Fprintln(&b, l)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// write sets the table with columns as wide as what stands in them.
func (t Table) write(b *strings.Builder) {
	wide := make([]int, len(t.Head))
	for _, row := range append([][]string{t.Head}, t.Rows...) {
		for i, c := range row {
			wide[i] = max(wide[i], text.Width(c))
		}
	}
	b.WriteByte('\n')
	for _, row := range append([][]string{t.Head}, t.Rows...) {
		for i, c := range row {
			blank := strings.Repeat(" ", wide[i]-text.Width(c))
			switch {
			case i == 0:
				b.WriteString(c + blank)
			default:
				b.WriteString("  " + blank + c)
			}
		}
		b.WriteByte('\n')
	}
}
