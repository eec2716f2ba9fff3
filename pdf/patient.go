package pdf

import (
	"io"
	"strings"

	"crownassay/reading"
	"crownassay/record"
)

// question is something a patient may want to know, with the readings that
// answer it.
type question struct {
	title string
	about string   // what it means
	ids   []string // beginnings of ids
}

var questions = []question{
	{"The edge of the prepared tooth", "The new crown ends on a fine edge around your tooth. The picture of the tooth has to show this edge clearly.",
		[]string{"finish_line.", "scan."}},
	{"Room for the crown", "Between your prepared tooth and the teeth on the other jaw there has to be space for the crown.",
		[]string{"preparation.clearance", "preparation.reduction", "preparation.room"}},
	{"Hold", "The shape of the prepared tooth keeps the crown in place.",
		[]string{"preparation.convergence", "preparation.height", "preparation.undercut", "preparation.placement", "preparation.resistance", "preparation.line_angle", "preparation.ferrule"}},
	{"Thickness of the crown", "To be strong enough for your bite, the crown must not be too thin.",
		[]string{"crown.thickness", "crown.strength", "finished.thickness", "finished.strength"}},
	{"Fit", "The crown should lie closely on the tooth, all the way round.",
		[]string{"crown.fit", "crown.contour", "crown.tool", "crown.seating", "finished.fit", "finished.contour", "finished.seating", "seated."}},
	{"Neighbouring teeth", "The crown should touch the teeth beside it just enough that no food gets stuck.",
		[]string{"crown.contact.mesial", "crown.contact.distal", "crown.ridge", "finished.contact.mesial", "finished.contact.distal", "finished.ridge"}},
	{"Bite", "The crown should meet the teeth on the other jaw together with your other teeth.",
		[]string{"crown.contact.occlusal", "finished.contact.occlusal"}},
}

// WritePatient sets the patient's sheet: one page in plain words. It says what
// was looked at and what the dentist does about it, and gives no verdict.
func (r *Report) WritePatient(w io.Writer) error {
	t, err := r.Document.Of()
	if err != nil {
		return err
	}
	foot := "This sheet explains a measurement. It is no diagnosis. Your dentist decides with you."
	s := newSheet(r.Paper, "Your new crown", r.made(), foot)
	s.write(margin, s.y, s.wide(), 22, bold, ink, "L", "Your new crown")
	s.y += leading(22)
	about := "Your " + t.Name() + " (tooth " + r.Document.Tooth + ")"
	if r.Kept != nil {
		about += ", measured on " + r.Kept.At.UTC().Format("2 January 2006")
	}
	if r.Patient != "" {
		about += ", your code in this practice: " + r.Patient
	}
	s.text(11, regular, ink, about+".")
	s.y += 4
	r.patientPictures(s)
	s.text(11, regular, ink, "Your tooth is getting a crown: a cap that covers it all round. While it is made, the tooth and the crown are scanned with light and "+
		"measured on a computer in this practice, to less than a tenth of a millimetre. This is what was looked at.")
	s.y += 3
	for _, q := range questions {
		r.answer(s, &q)
	}
	s.y += 1
	s.line(margin, s.y, s.w-margin, s.y, rule, 0.3)
	s.y += 2.5
	s.text(10, bold, ink, "Good to know")
	s.text(10, regular, ink, "The measurement helps your dentist; it does not replace a look into your mouth. If the crown feels high, if food gets stuck beside it, "+
		"or if anything hurts, call the practice. Ask anything you would like to know about your tooth.")
	return s.finish(w)
}

func (r *Report) patientPictures(s *sheet) {
	if len(r.Overview) == 0 {
		return
	}
	const gap = 6.0
	w := (s.wide() - gap) / 2
	h := 0.0
	for i := range r.Overview {
		p := r.Overview[i]
		p.Letters, p.Ring = nil, nil
		h = s.picture(&p, margin+float64(i)*(w+gap), s.y, w)
	}
	s.y += h + 1
	for i := range r.Overview {
		s.write(margin+float64(i)*(w+gap), s.y, w, 8, regular, quiet, "L", r.Overview[i].Says)
	}
	s.y += leading(8) + 3
}

// answer sets a question with what was found, where something was measured.
func (r *Report) answer(s *sheet, q *question) {
	text := r.come(q)
	if text == "" {
		return
	}
	const left = 46.0
	s.para(margin, s.y, left-4, 10, bold, ink, q.title)
	y := s.para(margin+left, s.y, s.wide()-left, 10, regular, ink, q.about)
	y = s.para(margin+left, y, s.wide()-left, 10, bold, ink, text)
	s.y = y + 2.2
}

// come says in plain words what the readings of a question come to; empty
// where none was made.
func (r *Report) come(q *question) string {
	stand := record.Stand(r.Entries)
	good, look, made := 0, 0, 0
	for i := range r.Document.Readings {
		d := &r.Document.Readings[i]
		if !q.has(string(d.ID)) || d.Value == nil {
			continue
		}
		made++
		v := d.Verdict
		if o := stand.Overrides[d.ID]; o != nil && r.Kept != nil && o.Override.Run == r.Kept.Number {
			v = o.Override.To
		}
		switch v {
		case reading.Conforms:
			good++
		case reading.Fails, reading.Undecided:
			look++
		}
	}
	switch {
	case made == 0 || good+look == 0:
		return ""
	case look == 0:
		return "This is as planned."
	case good == 0 || look > good:
		return "Your dentist takes a second look at this and improves it where that helps."
	}
	return "Most of this is as planned. Your dentist takes a second look at one part and improves it where that helps."
}

func (q *question) has(id string) bool {
	for _, p := range q.ids {
		if strings.HasPrefix(id, p) {
			return true
		}
	}
	return false
}
