package pdf

import (
	"fmt"
	"slices"
	"strings"

	"crownassay/reading"
	"crownassay/record"
)

// The columns of the ledger, mm from the left margin.
const (
	nameAt   = 20.0
	valueAt  = 78.0
	limitAt  = 112.0
	placeAt  = 146.0
	sourceAt = 156.0
)

// ledger sets every reading, grouped by hold point, with its limit's source by
// number, and the sources after it.
func (r *Report) ledger(s *sheet) {
	var sources []string
	number := map[string]int{}
	group := reading.HoldPoint("")
	stand := record.Stand(r.Entries)
	for i := range r.Document.Readings {
		q := &r.Document.Readings[i]
		if q.HoldPoint != group {
			group = q.HoldPoint
			if i > 0 {
				s.y += 2
			}
			s.room(30)
			r.columns(s, group)
		} else if s.room(leading(s.rowSize) + 4) {
			r.columns(s, group)
		}
		n := ""
		if q.Limit != nil {
			if number[q.Limit.Cited()] == 0 {
				sources = append(sources, q.Limit.Cited())
				number[q.Limit.Cited()] = len(sources)
			}
			n = fmt.Sprintf("[%d]", number[q.Limit.Cited()])
		}
		s.row(q, n)
		if o := stand.Overrides[q.ID]; o != nil && r.Kept != nil && o.Override.Run == r.Kept.Number {
			s.text(7, italic, ink, fmt.Sprintf("%s judges otherwise (%s): %s. %s", o.Who, stamp(o), o.Override.To, o.Override.Reason))
		}
	}
	s.y += 2
	s.text(7, regular, quiet, "Values are given with their expanded uncertainty (k = 2). A value conforms where it lies inside its limit by at least that, "+
		"fails where it lies outside by more, and is undecided in between (JCGM 106). Places: M mesial, B buccal or facial, D distal, L lingual or palatal.")
	s.y += 3
	if len(sources) == 0 {
		return
	}
	s.cite(sources)
}

// cite lists the sources of the limits in two columns, read down one and then
// down the other.
func (s *sheet) cite(sources []string) {
	const size, number, gap = 6.5, 6.0, 5.0
	w := (s.wide() - gap) / 2
	high := func(t string) float64 {
		return float64(len(s.lines(w-number, size, regular, t+"."))) * leading(size)
	}
	whole := 0.0
	for _, t := range sources {
		whole += high(t)
	}
	s.room(whole/2 + 16)
	s.head("Where the limits come from", "in brackets: how the value is known")
	x, y, end := margin, s.y, s.y
	for i, t := range sources {
		if x == margin && y-s.y >= whole/2 {
			x, y = margin+w+gap, s.y
		}
		s.write(x, y, number, size, regular, ink, "L", fmt.Sprintf("[%d]", i+1))
		y = s.para(x+number, y, w-number, size, regular, ink, t+".")
		end = max(end, y)
	}
	s.y = end + 4
}

// columns begins a part of the ledger.
func (r *Report) columns(s *sheet, p reading.HoldPoint) {
	s.head("Ledger: "+string(p), record.Before(p))
	for _, c := range []struct {
		at   float64
		name string
	}{{0, "verdict"}, {nameAt, "reading"}, {valueAt, "value"}, {limitAt, "limit"}, {placeAt, "place"}, {sourceAt, "source"}} {
		s.write(margin+c.at, s.y, 30, 6.5, regular, quiet, "L", c.name)
	}
	s.y += leading(6.5)
}

// row sets one reading; under one that was not measured stands why.
func (s *sheet) row(q *record.DocReading, source string) {
	style, c := regular, ink
	switch q.Verdict {
	case reading.Fails, reading.Undecided:
		style = bold
	case reading.Unmeasured, reading.Informs:
		c = quiet
	}
	s.write(margin, s.y, nameAt-2, s.rowSize, style, c, "L", string(q.Verdict))
	s.write(margin+nameAt, s.y, valueAt-nameAt-2, s.rowSize, style, ink, "L", q.Name)
	if q.Value == nil {
		s.write(margin+valueAt, s.y, s.wide()-valueAt, 7, italic, quiet, "L", q.Reason)
	} else {
		s.write(margin+valueAt, s.y, limitAt-valueAt-2, s.rowSize, regular, ink, "L", q.ValueText())
		s.write(margin+limitAt, s.y, placeAt-limitAt-2, s.rowSize, regular, ink, "L", q.LimitText())
		s.write(margin+placeAt, s.y, 9, s.rowSize, regular, ink, "L", q.SectorText())
		s.write(margin+sourceAt, s.y, s.wide()-sourceAt, s.rowSize, regular, quiet, "L", source)
	}
	s.y += leading(s.rowSize)
}

// record tells who confirmed what, the lots and the chain's last hash.
func (r *Report) record(s *sheet) {
	if len(r.Entries) == 0 {
		return
	}
	stand := record.Stand(r.Entries)
	last := r.Entries[len(r.Entries)-1]
	s.room(26)
	s.head("The record of this case", "")
	for _, e := range stand.Lots {
		s.room(leading(8))
		s.text(8, regular, ink, lot(e))
	}
	if len(stand.Lots) == 0 {
		s.text(8, regular, ink, "No lot number of the block, a tool or the cement is kept.")
	}
	if e := stand.Luting; e != nil {
		s.room(leading(8))
		s.text(8, regular, ink, capital(e.Luting.Text())+", kept by "+e.Who+", "+stamp(e)+".")
	}
	for _, e := range append(slices.Clone(stand.TryIns), stand.Recalls...) {
		s.room(leading(8))
		s.text(8, regular, ink, capital(e.Found())+", kept by "+e.Who+", "+stamp(e)+".")
	}
	for i := range r.Entries {
		if e := &r.Entries[i]; e.Kind == record.KindCorrection && stand.Corrected[e.Number] == 0 {
			s.room(leading(8))
			s.text(8, regular, ink, fmt.Sprintf("Entry %d does not hold (%s, %s): %s.", e.Correction.Entry, e.Who, stamp(e), strings.TrimSuffix(e.Correction.Reason, ".")))
		}
	}
	s.text(8, regular, ink, fmt.Sprintf("The record has %d entries, each sealed with the hash of the one before. The last one's SHA-256:", len(r.Entries)))
	s.text(8, regular, ink, last.Hash)
	s.y += 4
}

func lot(e *record.Sealed) string {
	l := e.Lot
	s := capital(l.Thing) + ":"
	for _, p := range []struct{ name, value string }{{"lot", l.Lot}, {"serial", l.Serial}, {"product", l.Product}, {"expires", l.Expires}} {
		if p.value != "" {
			s += " " + p.name + " " + p.value + ","
		}
	}
	s += " kept by " + e.Who + ", " + stamp(e)
	if e.Expired() {
		s += " (expired then)"
	}
	return s + "."
}

// cautions stand at the end of every report.
func (r *Report) cautions(s *sheet) {
	text := record.Caution + " The values hold for the files named here, as they were scanned or designed. What no scan shows, such as caries, the pulp, " +
		"the bond or the bite in motion, is not in them."
	rows := s.lines(s.wide()-8, 8, regular, text)
	h := float64(len(rows))*leading(8) + 5 + leading(8)
	s.room(h)
	s.fill(margin, s.y, s.wide(), h, soft)
	s.write(margin+4, s.y+2, 60, 8, bold, ink, "L", "Caution")
	s.para(margin+4, s.y+2+leading(8), s.wide()-8, 8, regular, ink, text)
	s.y += h
}
