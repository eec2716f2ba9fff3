package record

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"crownassay/internal/text"
	"crownassay/reading"
	"crownassay/unit"
)

// Look is how a ledger is set. The zero value is 80 columns without colour.
type Look struct {
	Width int  // columns; 0 means 80, fewer than 76 are taken as 76
	Color bool // mark with bold, dim and one hue; the words stay the same
}

// The columns of a row; the name takes what the width leaves.
const (
	verdictColumn = 11
	valueColumn   = 18
	limitColumn   = 15
	sectorColumn  = 2
)

// Caution stands under every ledger.
const Caution = "A measuring aid for licensed practitioners. Clinical judgement, the maker's instructions for use and " +
	"local rules come first. It diagnoses nothing, and no verdict replaces a look in the mouth."

// Ledger writes the readings worst first, grouped by hold point, with the most
// important next step on top.
func (r *Record) Ledger(w io.Writer, look Look) error {
	p := page{width: max(look.Width, 76), color: look.Color, budget: r.Budget != nil}
	if look.Width == 0 {
		p.width = 80
	}
	p.head(r)
	group := reading.HoldPoint("")
	for i := range r.Readings {
		q := &r.Readings[i]
		m, _ := reading.Find(q.ID)
		if m.HoldPoint != group {
			group = m.HoldPoint
			p.line("")
			p.line(p.bold(strings.ToUpper(string(group))) + ", " + before[group])
			p.line(strings.Repeat("-", p.width))
		}
		p.row(q, m)
	}
	p.foot(r)
	_, err := io.WriteString(w, p.b.String())
	return err
}

// before says what each hold point comes before.
var before = map[reading.HoldPoint]string{
	reading.Preparation: "before the retraction is lost and the crown is designed",
	reading.Design:      "before the block is milled",
	reading.TryIn:       "before the crown is cemented",
	reading.Recall:      "before the next case",
}

func (p *page) head(r *Record) {
	p.line(p.bold("Crown Assay") + ": tooth " + r.Tooth.ISO() + ", " + r.Tooth.Name() + ", " + r.Material)
	p.line(r.tally())
	p.line("")
	p.wrap("Next: ", r.Headline(), p.bold)
}

// tally counts the verdicts in words.
func (r *Record) tally() string {
	return fmt.Sprintf("%d readings: %s", len(r.Readings), tally(r.Count))
}

func tally(count func(reading.Verdict) int) string {
	var parts []string
	for _, v := range []struct {
		verdict   reading.Verdict
		one, many string
	}{
		{reading.Fails, "fails", "fail"}, {reading.Undecided, "undecided", "undecided"}, {reading.Unmeasured, "unmeasured", "unmeasured"},
		{reading.Conforms, "conforms", "conform"}, {reading.Informs, "informs", "inform"},
	} {
		switch n := count(v.verdict); {
		case n == 1:
			parts = append(parts, "1 "+v.one)
		case n > 1:
			parts = append(parts, fmt.Sprintf("%d %s", n, v.many))
		}
	}
	return strings.Join(parts, ", ")
}

func (p *page) row(q *reading.Reading, m reading.Measurand) {
	sector := ""
	if q.Measured() && q.At != nil && q.At.HasAzimuth {
		sector = reading.Sector(q.At.Azimuth)
	}
	name := p.width - verdictColumn - valueColumn - limitColumn - sectorColumn
	p.line(p.verdict(q.Verdict, text.Left(string(q.Verdict), verdictColumn)) + text.Left(m.Name, name) +
		text.Left(valueText(q, m), valueColumn) + text.Left(limitText(q.Limit, m.Digits), limitColumn) + sector)
	indent := strings.Repeat(" ", verdictColumn)
	if q.Next != "" {
		p.wrap(indent, q.Next, plain)
	}
	if s := zonesText(q, m); s != "" {
		p.wrap(indent, s, p.dim)
	}
	if q.Note != "" {
		p.wrap(indent, q.Note, p.dim)
	}
	if p.budget && q.Measured() {
		p.wrap(indent, budgetText(q, m), p.dim)
	}
	if q.Limit != nil && (q.Verdict == reading.Fails || q.Verdict == reading.Undecided) {
		p.wrap(indent, "Limit ("+q.Limit.Status+"): "+q.Limit.Source+".", p.dim)
	}
}

func (p *page) foot(r *Record) {
	p.line("")
	for _, n := range r.Notes {
		p.wrap("Note: ", n, plain)
	}
	if s, ok := RuleText[r.Settings.Rule]; ok {
		p.wrap("", s, plain)
	}
	p.wrap("", "Values are given with their expanded uncertainty (k = 2). Places: M mesial, B buccal or facial, D distal, "+
		"L lingual or palatal.", p.dim)
	p.wrap("", Caution, p.dim)
}

// RuleText says how values were compared with limits, by the rule of the
// settings, where that was not by the guard band.
var RuleText = map[string]string{
	"simple":      "Values were compared with their limits as they stand, without a guard band: near a limit the verdict may be wrong either way.",
	"probability": "A value conforms from 95 % conformance probability on and fails from 5 % down.",
}

// budgetText is the budget of a reading in words: its parts, largest first, what
// they combine to, what measuring again gave, and how likely it conforms.
func budgetText(q *reading.Reading, m reading.Measurand) string {
	parts := slices.Clone(q.Parts)
	slices.SortStableFunc(parts, func(a, b reading.Part) int { return cmp.Compare(b.Standard, a.Standard) })
	digits := m.Digits + 1
	var said []string
	for _, part := range parts {
		if x := number(part.Standard, digits); strings.Trim(x, "0.") != "" {
			said = append(said, part.Name+" "+x)
		}
	}
	s := "Budget: counted, without uncertainty"
	if q.Expanded > 0 {
		s = fmt.Sprintf("Budget: combined %s%s (%s)", number(q.Expanded/2, digits), unitText(m.Unit), strings.Join(said, ", "))
	}
	if d := q.MonteCarlo; d != nil {
		s += fmt.Sprintf("; measured again %d times: spread %s, 95 %% of them %s to %s", d.Draws, number(d.Standard, digits), number(d.Low, digits), number(d.High, digits))
	}
	if q.Conformance != nil {
		s += fmt.Sprintf("; %.1f %% likely to conform", 100**q.Conformance)
	}
	return s + "."
}

// valueText is the value with its uncertainty and unit.
func valueText(q *reading.Reading, m reading.Measurand) string {
	if !q.Measured() {
		return "-"
	}
	s := number(q.Value, m.Digits)
	if q.Expanded > 0 {
		s += " ± " + uncertainty(q.Expanded, m.Digits)
	}
	return s + unitText(m.Unit)
}

func unitText(u unit.Unit) string {
	switch u {
	case unit.One:
		return ""
	case unit.SquareMillimetre:
		return " mm²"
	}
	return " " + string(u)
}

func limitText(l *reading.Limit, digits int) string {
	switch {
	case l == nil || l.Min == nil && l.Max == nil:
		return ""
	case l.Max == nil:
		return "at least " + short(*l.Min, digits)
	case l.Min == nil:
		return "at most " + short(*l.Max, digits)
	}
	return short(*l.Min, digits) + " to " + short(*l.Max, digits)
}

// zonesText lists the values of the occlusal zones. Other further values are
// told by the note.
func zonesText(q *reading.Reading, m reading.Measurand) string {
	var parts []string
	for _, s := range q.Subs {
		if !slices.Contains(reading.Zones, s.Name) {
			continue
		}
		text := s.Name + " " + number(s.Value, m.Digits) + unitText(s.Unit)
		if s.Verdict != "" && s.Verdict != q.Verdict {
			text += " (" + string(s.Verdict) + ")"
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, ", ")
}
