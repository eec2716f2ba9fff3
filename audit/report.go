package audit

import (
	"cmp"
	"slices"

	"crownassay/reading"
	"crownassay/spc"
	"crownassay/unit"
)

// Format names the form of the JSON report.
const Format = "crownassay-audit/1"

// How few cases are too few.
const (
	leastMedian = 5  // values for a median and a histogram
	leastChart  = 10 // dated values for a chart over time
	leastGroup  = 10 // cases of a group below which its share says little
	mostLimits  = 5  // listed; a limit that comes from the case itself is another in each
)

// Report is an audit.
type Report struct {
	Format   string    `json:"format"`
	Cases    int       `json:"cases" doc:"All, with those that could not be measured."`
	Measured int       `json:"measured"`
	Dated    int       `json:"dated" doc:"Measured cases of a known day."`
	First    string    `json:"first" doc:"First day, YYYY-MM-DD; empty when no case has one."`
	Last     string    `json:"last"`
	Readings []Summary `json:"readings" nullable:"false" doc:"Those that any case has, in the order of the visit."`
	Problems []Problem `json:"problems" nullable:"false" doc:"Cases that could not be measured."`
}

// Problem is a case that could not be measured.
type Problem struct {
	Case   string `json:"case"`
	Reason string `json:"reason"`
}

// Share is how many of so many, with the 95 % interval of the share after Wilson.
type Share struct {
	Count int     `json:"count"`
	Of    int     `json:"of"`
	Share float64 `json:"share" doc:"0 to 1; 0 of none."`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// ShareOf works a share out.
func ShareOf(count, of int) Share {
	s := Share{Count: count, Of: of}
	if of > 0 {
		s.Share = float64(count) / float64(of)
	}
	s.Low, s.High = spc.Share(count, of)
	return s
}

// Summary is one reading over all cases.
type Summary struct {
	Reading    reading.ID        `json:"reading"`
	Name       string            `json:"name"`
	HoldPoint  reading.HoldPoint `json:"hold_point"`
	Unit       unit.Unit         `json:"unit"`
	Digits     int               `json:"digits" doc:"Decimals that mean something."`
	Values     int               `json:"values" doc:"Cases in which it was measured."`
	Unmeasured int               `json:"unmeasured" doc:"Cases that have the reading without a value."`
	Reasons    []Tallied         `json:"reasons" nullable:"false" doc:"Why, the most frequent first."`
	Quantiles  Quantiles         `json:"quantiles"`
	Fails      Share             `json:"fails" doc:"Of the values that were compared with a limit."`
	Undecided  Share             `json:"undecided"`
	Limits     []Limit           `json:"limits" nullable:"false" doc:"Those that values were compared with, the most frequent first."`
	Further    int               `json:"further_limits" doc:"How many more limits there are than are listed."`
	Outside    *int              `json:"outside" doc:"Cases outside the limits of the chart over time or of its moving average; null when there are too few for one."`
	Bins       []Bin             `json:"bins" nullable:"false" doc:"Histogram, bins of one width; empty with fewer than 5 values."`
}

// Quantiles are values below which 5, 25, 50, 75 and 95 % of cases lie; null
// where the cases are too few to say.
type Quantiles struct {
	P5     *float64 `json:"p5"`
	P25    *float64 `json:"p25"`
	Median *float64 `json:"median"`
	P75    *float64 `json:"p75"`
	P95    *float64 `json:"p95"`
}

// Tallied is a text and how often it is there.
type Tallied struct {
	Text  string `json:"text"`
	Count int    `json:"count"`
}

// Limit is a limit and how many values were compared with it.
type Limit struct {
	Min   *float64 `json:"min"`
	Max   *float64 `json:"max"`
	Count int      `json:"count"`
}

// Bin is one bar of a histogram: values from, and below, its bounds; the last
// one holds its upper bound too.
type Bin struct {
	From  float64 `json:"from"`
	To    float64 `json:"to"`
	Count int     `json:"count"`
}

// Make looks over cases.
func Make(cases []Case) *Report {
	r := &Report{Format: Format, Cases: len(cases), Readings: []Summary{}, Problems: []Problem{}}
	for _, c := range cases {
		if c.Problem != "" {
			r.Problems = append(r.Problems, Problem{c.Name, c.Problem})
			continue
		}
		r.Measured++
		if c.Date == "" {
			continue
		}
		if r.Dated++; r.First == "" || c.Date < r.First {
			r.First = c.Date
		}
		r.Last = max(r.Last, c.Date)
	}
	for _, of := range gather(cases) {
		r.Readings = append(r.Readings, of.summary())
	}
	return r
}

// series is one reading of all cases that have it.
type series struct {
	id  reading.ID
	all []sample
}

// sample is a reading with the case it is of.
type sample struct {
	of *Case
	*Value
}

// gather sorts readings out, in the order of the table, the cases of each in
// the order of their days; those without a day come last.
func gather(cases []Case) []*series {
	at := map[reading.ID]*series{}
	var out []*series
	for i := range cases {
		c := &cases[i]
		if c.Problem != "" {
			continue
		}
		for j := range c.Readings {
			v := &c.Readings[j]
			s := at[v.ID]
			if s == nil {
				s = &series{id: v.ID}
				at[v.ID] = s
				out = append(out, s)
			}
			s.all = append(s.all, sample{c, v})
		}
	}
	slices.SortStableFunc(out, func(a, b *series) int { return cmp.Compare(reading.Order(a.id), reading.Order(b.id)) })
	for _, s := range out {
		slices.SortStableFunc(s.all, func(a, b sample) int {
			if (a.of.Date == "") != (b.of.Date == "") {
				return cmp.Compare(b.of.Date, a.of.Date)
			}
			return cmp.Or(cmp.Compare(a.of.Date, b.of.Date), cmp.Compare(a.of.Name, b.of.Name))
		})
	}
	return out
}

// values are those that there are, in the order of the series.
func (s *series) values() []float64 {
	var out []float64
	for _, x := range s.all {
		if x.Value.Value != nil {
			out = append(out, *x.Value.Value)
		}
	}
	return out
}

// count counts the verdicts of samples that were compared with a limit.
func count(all []sample) (fails, undecided, judged int) {
	for _, x := range all {
		switch x.Verdict {
		case reading.Fails:
			fails++
		case reading.Undecided:
			undecided++
		case reading.Conforms:
		default:
			continue
		}
		judged++
	}
	return fails, undecided, judged
}

func (s *series) summary() Summary {
	m, _ := reading.Find(s.id)
	values := s.values()
	slices.Sort(values)
	fails, undecided, judged := count(s.all)
	limits := s.limits()
	out := Summary{Reading: s.id, Name: m.Name, HoldPoint: m.HoldPoint, Unit: m.Unit, Digits: m.Digits, Values: len(values), Unmeasured: len(s.all) - len(values),
		Quantiles: quantiles(values), Fails: ShareOf(fails, judged), Undecided: ShareOf(undecided, judged), Limits: limits[:min(len(limits), mostLimits)], Further: max(0, len(limits)-mostLimits), Bins: bins(values), Reasons: s.reasons()}
	if m.Name == "" { // of another version
		out.Name = string(s.id)
	}
	if dated := s.dated(); len(dated) >= leastChart {
		n := chart(dated).outside()
		out.Outside = &n
	}
	return out
}

func quantiles(sorted []float64) (q Quantiles) {
	if len(sorted) < leastMedian {
		return q
	}
	at := func(p float64) *float64 {
		if x, ok := spc.Quantile(sorted, p); ok {
			return &x
		}
		return nil
	}
	return Quantiles{at(0.05), at(0.25), at(0.5), at(0.75), at(0.95)}
}

func (s *series) reasons() []Tallied {
	var all []string
	for _, x := range s.all {
		if x.Value.Value == nil && x.Reason != "" {
			all = append(all, x.Reason)
		}
	}
	return tally(all)
}

// tally counts texts, the most frequent first, and of those as frequent the
// first in the alphabet.
func tally(texts []string) []Tallied {
	n := map[string]int{}
	for _, t := range texts {
		n[t]++
	}
	out := []Tallied{}
	for t, k := range n {
		out = append(out, Tallied{t, k})
	}
	slices.SortFunc(out, func(a, b Tallied) int { return cmp.Or(cmp.Compare(b.Count, a.Count), cmp.Compare(a.Text, b.Text)) })
	return out
}

func (s *series) limits() []Limit {
	type key struct {
		min, max       float64
		hasMin, hasMax bool
	}
	of := func(p *float64) (float64, bool) {
		if p == nil {
			return 0, false
		}
		return *p, true
	}
	at := map[key]int{}
	out := []Limit{}
	for _, x := range s.all {
		if x.Value.Value == nil || x.Low == nil && x.High == nil {
			continue
		}
		var k key
		k.min, k.hasMin = of(x.Low)
		k.max, k.hasMax = of(x.High)
		i, had := at[k]
		if !had {
			i = len(out)
			at[k] = i
			out = append(out, Limit{Min: x.Low, Max: x.High})
		}
		out[i].Count++
	}
	slices.SortStableFunc(out, func(a, b Limit) int { return cmp.Compare(b.Count, a.Count) })
	return out
}
