package record

import (
	"math"

	"crownassay/reading"
)

// Found makes the entry of a try-in: what a person found, beside what the
// newest run had measured and said of the crown.
func (s *Standing) Found(d *Document, e TryInEntry, who string) Entry {
	if s.Run != nil {
		e.Said = s.said(d)
		for i := range e.Contacts {
			c := &e.Contacts[i]
			if r := d.Reading(reading.ID("crown.contact." + c.Side)); c.Designed == nil && r != nil && r.Value != nil && math.Abs(*r.Value) <= mostLength {
				v := *r.Value
				c.Designed = &v
			}
		}
	}
	return Entry{Kind: KindTryIn, Who: who, TryIn: &e}
}

// said is the worst verdict on the design and at try-in, the person's own where
// it was overridden; empty when neither was measured.
func (s *Standing) said(d *Document) Said {
	worst := 0
	for i := range d.Readings {
		r := &d.Readings[i]
		if r.HoldPoint != reading.Design && r.HoldPoint != reading.TryIn {
			continue
		}
		v := r.Verdict
		if o := s.Overrides[r.ID]; o != nil {
			v = o.Override.To
		}
		switch v {
		case reading.Conforms, reading.Informs:
			worst = max(worst, 1)
		case reading.Undecided:
			worst = max(worst, 2)
		case reading.Fails:
			worst = max(worst, 3)
		}
	}
	return Saids[worst]
}
