package pdf

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"crownassay/reading"
	"crownassay/record"
)

// Write sets the report.
func (r *Report) Write(w io.Writer) error {
	t, err := r.Document.Of()
	if err != nil {
		return err
	}
	short := *r
	for {
		s := short.sheet(t.Name())
		if s.PageCount() <= mostPages || len(short.Findings) <= leastFindings {
			return s.finish(w)
		}
		short.Findings = short.Findings[:len(short.Findings)-1] // it stands in the ledger all the same
	}
}

const (
	mostPages     = 3 // what a colleague reads
	leastFindings = 1 // shown, also where that takes another page
)

// sheet sets all of the report.
func (r *Report) sheet(tooth string) *sheet {
	s := newSheet(r.Paper, "Crown Assay report, tooth "+r.Document.Tooth, r.made(), r.footer())
	r.opening(s, tooth)
	r.pictures(s)
	r.measured(s)
	r.findings(s)
	r.old(s)
	r.ledger(s)
	r.record(s)
	r.cautions(s)
	return s
}

// made is when the run was kept; zero when it is not.
func (r *Report) made() time.Time {
	if r.Kept == nil {
		return time.Time{}
	}
	return r.Kept.At
}

func (r *Report) footer() string {
	parts := []string{"Crown Assay", "tooth " + r.Document.Tooth}
	if r.Patient != "" {
		parts = append(parts, "patient "+r.Patient)
	}
	if r.Kept != nil {
		parts = append(parts, stamp(r.Kept))
	}
	return strings.Join(append(parts, "a measuring aid, not a diagnosis"), "  |  ")
}

// opening is the head of the first page with the sentence that matters most.
func (r *Report) opening(s *sheet, name string) {
	d := r.Document
	s.write(margin, s.y, 80, 9, bold, accent, "L", "Crown Assay")
	s.write(s.w-margin-90, s.y, 90, 9, regular, quiet, "R", "Report of a measurement")
	s.y += leading(9) + 1
	s.line(margin, s.y, s.w-margin, s.y, accent, 0.6)
	s.y += 3
	s.write(margin, s.y, s.wide(), 19, bold, ink, "L", strings.ToUpper(name[:1])+name[1:])
	s.y += leading(19)
	about := []string{"tooth " + d.Tooth + numbering(d), d.Material}
	if r.Patient != "" {
		about = append(about, "patient "+r.Patient)
	}
	if r.Title != "" {
		about = append(about, r.Title)
	}
	s.text(9.5, regular, ink, strings.Join(about, ", "))
	s.text(8.5, regular, quiet, r.when())
	s.y += 3
	r.next(s)
	r.points(s)
}

func numbering(d *record.Document) string {
	if d.Numbering == "universal" {
		return " (Universal)"
	}
	return " (ISO 3950)"
}

// when says when the run was made and where it is kept.
func (r *Report) when() string {
	if last := record.Stand(r.Entries).Run; r.Kept == nil && last != nil {
		return fmt.Sprintf("Measured again. The newest run of the case's record (entry %d, %s) has other readings: it was made with other files, "+
			"settings or another version. Measure and keep the case again to have this one dated.", last.Number, stamp(last))
	}
	if r.Kept == nil {
		return "This run is not kept in a record, so that it bears no date."
	}
	s := fmt.Sprintf("Measured %s, entry %d of the case's record", stamp(r.Kept), r.Kept.Number)
	if r.Kept.Who != "" {
		s += ", by " + r.Kept.Who
	}
	return s + "."
}

// next is the sentence of what to do.
func (r *Report) next(s *sheet) {
	const size, pad = 12.5, 3.5
	rows := s.lines(s.wide()-2*pad-4, size, bold, r.Document.Headline)
	h := float64(len(rows))*leading(size) + 2*pad + leading(7.5)
	s.fill(margin, s.y, s.wide(), h, soft)
	s.fill(margin, s.y, 1.6, h, accent)
	y := s.y + pad
	s.write(margin+pad+2, y, 60, 7.5, regular, quiet, "L", "What to do next")
	s.para(margin+pad+2, y+leading(7.5), s.wide()-2*pad-4, size, bold, ink, r.Document.Headline)
	s.y += h + 4
}

// points is a table of the hold points.
func (r *Report) points(s *sheet) {
	stand := record.Stand(r.Entries)
	for _, p := range r.Document.HoldPoints() {
		s.write(margin, s.y, 24, 9, bold, ink, "L", capital(string(p)))
		s.write(margin+24, s.y, s.wide()-24, 9, regular, ink, "L", r.Document.Tally(p))
		x := margin + 24 + s.GetStringWidth(r.Document.Tally(p)) + 3
		s.write(x, s.y+0.3, s.w-margin-x, 8, regular, quiet, "L", record.Before(p))
		s.y += leading(9)
		if c := stand.Confirmations[p]; c != nil {
			s.write(margin+24, s.y, s.wide()-24, 8, italic, ink, "L", r.confirmed(c))
			s.y += leading(8)
		}
		s.y += 0.4
	}
	s.y += 3
}

// confirmed says who passed a hold point, and whether it was for these readings.
func (r *Report) confirmed(c *record.Sealed) string {
	s := fmt.Sprintf("Confirmed by %s, %s", c.Who, stamp(c))
	if r.Kept == nil || c.Confirmation.Run != r.Kept.Number {
		s += fmt.Sprintf(", for the readings of entry %d, not for these", c.Confirmation.Run)
	}
	if c.Confirmation.Remark != "" {
		s += ": " + c.Confirmation.Remark
	}
	return s
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// pictures shows the tooth.
func (r *Report) pictures(s *sheet) {
	if len(r.Overview) == 0 {
		return
	}
	const gap = 6.0
	w := (s.wide() - gap) / 2
	if r.Paper == Letter { // it is lower: a finding is to fit below
		w *= 0.88
	}
	h := w * float64(r.Overview[0].Height) / float64(r.Overview[0].Width)
	s.room(h + 16)
	end := s.y
	for i := range r.Overview {
		p := &r.Overview[i]
		x := margin + float64(i)*(w+gap)
		y := s.y + s.picture(p, x, s.y, w) + 1.2
		y = s.para(x, y, w, 8, bold, ink, p.Says)
		if p.Scale != nil {
			y = s.legend(p.Scale, x, y+1.4, w)
		}
		end = math.Max(end, y)
	}
	s.y = end + 4
}

// measured lists the files and settings.
func (r *Report) measured(s *sheet) {
	d := r.Document
	s.room(24 + 4*float64(len(d.Surfaces)))
	s.head("What was measured", "")
	for _, f := range d.Surfaces {
		s.write(margin, s.y, 22, 8, bold, ink, "L", f.Role)
		s.write(margin+22, s.y, 62, 8, regular, ink, "L", f.File)
		s.write(margin+86, s.y, 40, 8, regular, ink, "L", fmt.Sprintf("%d triangles, %s", f.Triangles, f.Unit))
		s.write(margin+126, s.y, s.wide()-126, 8, regular, quiet, "L", "SHA-256 "+f.SHA256[:16])
		s.y += leading(8)
	}
	s.y += 1
	u := "taken as no other was stated"
	if d.Settings.ScannerStated {
		u = "as stated"
	} else if d.Settings.ScannerFrom != "" {
		u = "from the " + d.Settings.ScannerFrom
	}
	set := fmt.Sprintf("Cement space %s mm. Least thickness of %s %s mm. Uncertainty of one scanned surface over one tooth %s µm (k = 2), %s.",
		short(d.Settings.CementSpace, 2), d.Material, short(d.Settings.LeastThickness, 1), plain(d.Settings.ScannerUM, 0), u)
	if d.Settings.Limits != "" {
		set += " Limits of the practice's own: " + d.Settings.Limits + "."
	}
	if t := record.RuleText[d.Settings.Rule]; t != "" {
		set += " " + t
	}
	s.text(8, regular, ink, set+" Program version "+d.Version+".")
	for _, n := range d.Notes {
		s.text(8, regular, ink, "Note: "+n)
	}
	s.y += 4
}

// findings shows the readings that matter most.
func (r *Report) findings(s *sheet) {
	if len(r.Findings) == 0 {
		return
	}
	un := unreadable(r.Document)
	for i := range r.Findings {
		h := r.height(s, &r.Findings[i])
		if i == 0 {
			h += 10
		}
		s.room(h)
		if i == 0 {
			s.head("Findings", "the worst first: where it is, around the tooth, in a section")
		}
		r.finding(s, &r.Findings[i], un)
	}
}

// The boxes of a finding, mm.
const (
	pictureWide = 56.0
	sliceWide   = 52.0
	boxGap      = 4.0
	boxHigh     = 40.0
)

// said is what is written over a finding.
func said(q *record.DocReading) string {
	text := q.Next
	if q.Note != "" {
		text += " " + capital(q.Note)
		if !strings.HasSuffix(text, ".") {
			text += "."
		}
	}
	return strings.TrimSpace(text)
}

func (r *Report) height(s *sheet, f *Finding) float64 {
	return leading(10) + float64(len(s.lines(s.wide(), 8.5, regular, said(f.Reading))))*leading(8.5) + boxHigh + 14.5
}

func (r *Report) finding(s *sheet, f *Finding, un []bool) {
	q := f.Reading
	s.write(margin, s.y, s.wide(), 10, bold, ink, "L", q.Name)
	x := margin + s.GetStringWidth(q.Name) + 3
	line := q.ValueText()
	if l := q.LimitText(); l != "" {
		line += ", " + l
	}
	s.write(x, s.y, s.w-margin-x-24, 10, regular, ink, "L", line)
	s.verdict(s.w-margin, s.y, q.Verdict)
	s.y += leading(10)
	if t := said(q); t != "" {
		s.text(8.5, regular, ink, t)
	}
	s.y += 1.2
	end := s.y
	x = margin
	if f.Picture != nil {
		y := s.y + s.picture(f.Picture, x, s.y, pictureWide) + 1
		y = s.para(x, y, pictureWide, 6.5, regular, quiet, f.Picture.Says)
		if f.Picture.Scale != nil {
			y = s.legend(f.Picture.Scale, x, y+1, pictureWide)
		}
		end = math.Max(end, y)
		x += pictureWide + boxGap
	}
	if f.Slice != nil {
		s.slice(f.Slice, x, s.y, sliceWide, boxHigh)
		y := s.para(x, s.y+boxHigh+1, sliceWide, 6.5, regular, quiet, f.Slice.Says)
		end = math.Max(end, s.key(f.Slice, x, y, sliceWide))
		x += sliceWide + boxGap
	}
	if w := s.w - margin - x; len(q.Profile) > 1 && w > 40 {
		s.strip(q, un, x, s.y, w, boxHigh)
		says := "Unrolled around the tooth from mesial: M mesial, B buccal, D distal, L lingual. Dashed: the limit."
		if slices.Contains(un, true) {
			says += " Shaded: the finish line is not legible there."
		}
		end = math.Max(end, s.para(x, s.y+boxHigh+1, w, 6.5, regular, quiet, says))
	}
	if w := s.w - margin - x; len(q.Profile) <= 1 && w > 40 {
		end = math.Max(end, s.budget(q, x, s.y, w))
	}
	s.y = end + 4
}

// budget lists what the uncertainty is made of.
func (s *sheet) budget(q *record.DocReading, x, y, w float64) float64 {
	if len(q.Parts) == 0 {
		return y
	}
	y = s.para(x, y, w, 7.5, bold, ink, "What the uncertainty is made of")
	y = s.para(x, y, w, 6.5, regular, quiet, "Standard uncertainties; twice the root of the sum of their squares is the value given.")
	y += 1
	for _, p := range q.Parts {
		s.write(x, y, w-24, 7.5, regular, ink, "L", p.Name)
		s.write(x+w-24, y, 24, 7.5, regular, ink, "R", short(p.Standard, 3)+record.UnitText(q.Unit))
		y += leading(7.5)
	}
	return y
}

// verdict writes the word, as solid as it asks for attention, flush right.
func (s *sheet) verdict(right, y float64, v reading.Verdict) {
	s.set(8.5, bold, ink)
	w := s.GetStringWidth(string(v)) + 3
	h := leading(10)
	switch v {
	case reading.Fails:
		s.fill(right-w, y, w, h, ink)
		s.write(right-w, y+0.55, w, 8.5, bold, white, "C", string(v))
	case reading.Undecided:
		s.SetDrawColor(ink[0], ink[1], ink[2])
		s.SetLineWidth(0.5)
		s.Rect(right-w, y+0.2, w, h-0.4, "D")
		s.write(right-w, y+0.55, w, 8.5, bold, ink, "C", string(v))
	default:
		s.write(right-w, y+0.55, w, 8.5, regular, ink, "R", string(v))
	}
}

// old compares the restoration before with the new one.
func (r *Report) old(s *sheet) {
	pairs := r.pairs()
	if r.Old == nil && len(pairs) == 0 {
		return
	}
	s.room(boxHigh + 26)
	s.head("Before and after", "the restoration that was there, and the new crown")
	x := margin
	end := s.y
	if r.Old != nil && r.Old.Picture != nil {
		y := s.y + s.picture(r.Old.Picture, x, s.y, pictureWide)
		end = math.Max(end, s.para(x, y+1, pictureWide, 6.5, regular, quiet, r.Old.Picture.Says))
		x += pictureWide + boxGap
	}
	if r.Old != nil && r.Old.Slice != nil {
		s.slice(r.Old.Slice, x, s.y, sliceWide, boxHigh)
		y := s.para(x, s.y+boxHigh+1, sliceWide, 6.5, regular, quiet, r.Old.Slice.Says)
		end = math.Max(end, s.key(r.Old.Slice, x, y, sliceWide))
		x += sliceWide + boxGap
	}
	y := s.y
	for _, p := range pairs {
		y = s.para(x, y, s.w-margin-x, 8.5, bold, ink, p[0].Name)
		y = s.para(x, y, s.w-margin-x, 8.5, regular, ink, "before: "+p[0].ValueText()+at(p[0]))
		if p[1] != nil {
			y = s.para(x, y, s.w-margin-x, 8.5, regular, ink, "new crown: "+p[1].ValueText()+at(p[1]))
		}
		if p[0].Note != "" {
			y = s.para(x, y, s.w-margin-x, 7, regular, quiet, capital(p[0].Note)+".")
		}
		y += 1.5
	}
	s.y = math.Max(end, y) + 5
}

func at(q *record.DocReading) string {
	if t := q.SectorText(); t != "" {
		return ", " + t
	}
	return ""
}

// pairs are the readings of the old restoration with those of the new crown:
// as made where there are, else as designed.
func (r *Report) pairs() (out [][2]*record.DocReading) {
	for i := range r.Document.Readings {
		q := &r.Document.Readings[i]
		rest, ok := strings.CutPrefix(string(q.ID), "existing.")
		if !ok || q.Value == nil {
			continue
		}
		now := r.Document.Reading(reading.ID("finished." + rest))
		if now == nil || now.Value == nil {
			now = r.Document.Reading(reading.ID("crown." + rest))
		}
		out = append(out, [2]*record.DocReading{q, now})
	}
	return out
}
