package conformity

import (
	"fmt"
	"math"
	"slices"

	"crownassay/reading"
	"crownassay/tooth"
)

// Setting is what the judgement of a case depends on beside its readings.
type Setting struct {
	Tooth    tooth.Tooth
	Material string
	// ScannerUM is the scanner's expanded uncertainty (k = 2) of one surface
	// over one tooth, um; 0 takes Coverage * DefaultScannerMM.
	ScannerUM float64
	Rule      Rule // empty for GuardBand
}

// Scanner returns the standard uncertainty of one surface, mm.
func (s Setting) Scanner() float64 {
	if s.ScannerUM == 0 {
		return DefaultScannerMM
	}
	return s.ScannerUM / 1000 / Coverage
}

// Judge returns the readings with their budget, expanded uncertainty, limit,
// verdict and next step filled in, worst first within each hold point. The
// readings given are left as they are. An unknown material or reading, and a
// value that is no number, is an error.
func Judge(rs []reading.Reading, l *Limits, s Setting) ([]reading.Reading, error) {
	if _, err := l.Material(s.Material); err != nil {
		return nil, err
	}
	judged := make([]finding, len(rs))
	for i, r := range rs {
		m, ok := reading.Find(r.ID)
		if !ok {
			return nil, fmt.Errorf("judge reading %q: not in the table of measurands", r.ID)
		}
		if r.Measured() && (math.IsNaN(r.Value) || math.IsInf(r.Value, 0)) {
			return nil, fmt.Errorf("judge reading %s: value is %v", r.ID, r.Value)
		}
		judged[i] = judge(r, m, l, s)
	}
	slices.SortStableFunc(judged, byWorst)
	out := make([]reading.Reading, len(rs))
	for i := range judged {
		out[i] = judged[i].reading
	}
	return out, nil
}

// finding is a judged reading with what decided it.
type finding struct {
	reading  reading.Reading
	m        reading.Measurand
	severity float64 // shortfall in expanded uncertainties, or in steps of the last digit shown if that is more
	culprit  culprit
}

// culprit is the value that decided: the reading's own or a zone's.
type culprit struct {
	zone  string
	value float64
	limit *reading.Limit
	at    *reading.Place

	expanded float64
}

func judge(r reading.Reading, m reading.Measurand, l *Limits, s Setting) finding {
	f := finding{reading: r, m: m}
	f.reading.Limit = l.Find(r.ID, "", s.Material, s.Tooth.Class())
	if r.OwnLimit != nil {
		f.reading.Limit = r.OwnLimit
	}
	if !r.Measured() {
		f.reading.Verdict = reading.Unmeasured
	} else {
		expand(&f.reading, m, s.Scanner())
		f.decide(l, s)
	}
	f.reading.Next = f.next(s.Tooth)
	return f
}

// decide sets the verdict of the reading and of its zones; the worst of them
// is the reading's.
func (f *finding) decide(l *Limits, s Setting) {
	r := &f.reading
	r.Verdict = s.Rule.Decide(r.Value, r.Expanded, r.Limit)
	f.accuse(culprit{"", r.Value, r.Limit, r.At, r.Expanded})
	r.Subs = slices.Clone(r.Subs)
	for i := range r.Subs {
		z := &r.Subs[i]
		if !slices.Contains(reading.Zones, z.Name) {
			continue
		}
		z.Limit = l.Find(r.ID, z.Name, s.Material, s.Tooth.Class())
		if z.Limit == nil {
			z.Limit = r.Limit
		}
		z.Expanded = Coverage * math.Hypot(r.Expanded/Coverage, z.Border)
		z.Verdict = s.Rule.Decide(z.Value, z.Expanded, z.Limit)
		if rank[z.Verdict] < rank[r.Verdict] {
			r.Verdict = z.Verdict
			f.accuse(culprit{z.Name, z.Value, z.Limit, z.At, z.Expanded})
		}
	}
	if c := f.culprit; r.Verdict != reading.Informs {
		p := Probability(c.value, c.expanded/Coverage, c.limit)
		r.Conformance = &p
	}
}

func (f *finding) accuse(c culprit) {
	f.culprit = c
	if v := f.reading.Verdict; v != reading.Fails && v != reading.Undecided {
		return
	}
	by, _ := Shortfall(c.value, c.limit)
	f.severity = by / max(c.expanded, math.Pow10(-f.m.Digits))
}

var holdPoints = []reading.HoldPoint{reading.Preparation, reading.Design, reading.TryIn, reading.Recall}

// byWorst orders findings by hold point, verdict, severity and the table.
func byWorst(a, b finding) int {
	if d := slices.Index(holdPoints, a.m.HoldPoint) - slices.Index(holdPoints, b.m.HoldPoint); d != 0 {
		return d
	}
	if d := rank[a.reading.Verdict] - rank[b.reading.Verdict]; d != 0 {
		return d
	}
	if a.severity != b.severity {
		if a.severity > b.severity {
			return -1
		}
		return 1
	}
	return reading.Order(a.m.ID) - reading.Order(b.m.ID)
}
