package audit

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"crownassay/reading"
	"crownassay/record"
	"crownassay/tooth"
)

// Case is what an audit takes of one measured case.
type Case struct {
	Name     string
	Tooth    string // ISO 3950
	Material string
	About
	Readings []Value
	Problem  string // why it could not be measured, in words; empty when it was
}

// About is what is known of a case beside its readings.
type About struct {
	Dentist string   `json:"dentist,omitempty"` // code; may be empty
	Date    string   `json:"date,omitempty"`    // YYYY-MM-DD; may be empty
	Used    []string `json:"used,omitempty"`    // blocks, tools and cements with their lots, such as "tool 4711"
}

// Value is one reading of a case.
type Value struct {
	ID          reading.ID
	Value       *float64 // nil when it was not measured
	Uncertainty *float64 // expanded
	Low, High   *float64 // limits; nil for none
	Verdict     reading.Verdict
	Reason      string // why it was not measured
}

// Of takes from the document of a run what an audit needs.
func Of(name string, d *record.Document, about About) (Case, error) {
	n := tooth.Numbering(d.Numbering)
	if n == "" {
		n = tooth.ISO
	}
	t, err := tooth.Parse(d.Tooth, n)
	if err != nil {
		return Case{}, fmt.Errorf("read the document of %s: %w", name, err)
	}
	c := Case{Name: name, Tooth: t.ISO(), Material: d.Material, About: about, Readings: make([]Value, len(d.Readings))}
	for i, r := range d.Readings {
		v := Value{ID: r.ID, Value: r.Value, Uncertainty: r.Uncertainty, Verdict: r.Verdict, Reason: r.Reason}
		if r.Limit != nil {
			v.Low, v.High = r.Limit.Min, r.Limit.Max
		}
		c.Readings[i] = v
	}
	return c, nil
}

// AboutOf takes it from the record of a case: the newest lot of each thing, and
// as dentist and day those of the newest try-in, or else who let it pass the earliest hold point that was passed, and
// the day of the first run that holds.
func AboutOf(all []record.Sealed) About {
	s := record.Stand(all)
	var a About
	for _, thing := range record.Things {
		lot := ""
		for _, l := range s.Lots {
			if l.Lot.Thing == thing {
				lot = cmp.Or(l.Lot.Lot, l.Lot.Serial)
			}
		}
		if lot != "" {
			a.Used = append(a.Used, thing+" "+lot)
		}
	}
	for i := range all {
		if e := &all[i]; e.Kind == record.KindRun && s.Corrected[e.Number] == 0 {
			a.Date = e.At.Format(time.DateOnly)
			break
		}
	}
	for _, p := range []reading.HoldPoint{reading.Preparation, reading.Design, reading.TryIn} {
		if c := s.Confirmations[p]; c != nil {
			a.Dentist = strings.TrimSpace(c.Who)
			break
		}
	}
	if n := len(s.TryIns); n > 0 {
		last := s.TryIns[n-1].TryIn
		a.Date = last.Date
		if d := strings.TrimSpace(last.Dentist); d != "" {
			a.Dentist = d
		}
	}
	return a
}

// Or fills what is not known from another source.
func (a About) Or(b About) About {
	if a.Dentist == "" {
		a.Dentist = b.Dentist
	}
	if a.Date == "" {
		a.Date = b.Date
	}
	if a.Used == nil {
		a.Used = b.Used
	}
	return a
}
