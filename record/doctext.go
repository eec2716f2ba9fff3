package record

import (
	"strings"

	"crownassay/reading"
	"crownassay/tooth"
	"crownassay/unit"
)

// measurand is what a document's reading is one of; an id of another version
// has the reading's own name and two decimals.
func (r *DocReading) measurand() reading.Measurand {
	m, ok := reading.Find(r.ID)
	if !ok {
		m = reading.Measurand{ID: r.ID, HoldPoint: r.HoldPoint, Unit: r.Unit, Name: r.Name, Digits: 2}
	}
	return m
}

// ValueText is the value with its uncertainty and unit as the ledger gives it;
// "-" when it was not measured.
func (r *DocReading) ValueText() string {
	if r.Value == nil {
		return "-"
	}
	m := r.measurand()
	s := number(*r.Value, m.Digits)
	if r.Uncertainty != nil && *r.Uncertainty > 0 {
		s += " ± " + uncertainty(*r.Uncertainty, m.Digits)
	}
	return s + unitText(m.Unit)
}

// Plain is the value with its unit and no uncertainty.
func (r *DocReading) Plain() string {
	if r.Value == nil {
		return "-"
	}
	m := r.measurand()
	return number(*r.Value, m.Digits) + unitText(m.Unit)
}

// LimitText is the limit as the ledger gives it; empty without one.
func (r *DocReading) LimitText() string {
	if r.Limit == nil {
		return ""
	}
	return limitText(&reading.Limit{Min: r.Limit.Min, Max: r.Limit.Max}, r.measurand().Digits)
}

// EdgeText is one edge of the limit with its unit.
func (r *DocReading) EdgeText(edge float64) string {
	m := r.measurand()
	return short(edge, m.Digits) + unitText(m.Unit)
}

// SectorText is the sector of the reading's place, or empty.
func (r *DocReading) SectorText() string {
	if r.At == nil || r.At.Sector == nil {
		return ""
	}
	return *r.At.Sector
}

// Of returns the document's tooth.
func (d *Document) Of() (tooth.Tooth, error) {
	return tooth.Parse(d.Tooth, tooth.Numbering(d.Numbering))
}

// Count returns how many readings of a hold point have the verdict; an empty
// hold point means all.
func (d *Document) Count(p reading.HoldPoint, v reading.Verdict) int {
	n := 0
	for i := range d.Readings {
		if r := &d.Readings[i]; r.Verdict == v && (p == "" || r.HoldPoint == p) {
			n++
		}
	}
	return n
}

// Tally counts the verdicts of a hold point in words; an empty one means all.
func (d *Document) Tally(p reading.HoldPoint) string {
	return tally(func(v reading.Verdict) int { return d.Count(p, v) })
}

// HoldPoints lists the hold points that the document has readings of, in the
// order of the visit.
func (d *Document) HoldPoints() []reading.HoldPoint {
	var out []reading.HoldPoint
	for _, p := range holdPoints {
		for i := range d.Readings {
			if d.Readings[i].HoldPoint == p {
				out = append(out, p)
				break
			}
		}
	}
	return out
}

// Before says what a hold point comes before.
func Before(p reading.HoldPoint) string { return before[p] }

// UnitText is a unit as it is written after a number, with its space.
func UnitText(u unit.Unit) string { return unitText(u) }

// Cited names a limit's source with how it is known.
func (l *DocLimit) Cited() string { return strings.TrimSuffix(l.Source, ".") + " (" + l.Status + ")" }
