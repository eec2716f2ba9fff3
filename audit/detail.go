package audit

import (
	"cmp"
	"fmt"
	"slices"

	"crownassay/reading"
	"crownassay/spc"
)

// Detail is one reading looked at closely.
type Detail struct {
	Summary  Summary `json:"summary"`
	Dentists []Group `json:"dentists" nullable:"false" doc:"By dentist's code; an empty name is that none is known."`
	Teeth    []Group `json:"teeth" nullable:"false" doc:"By ISO 3950 number."`
	Months   []Group `json:"months" nullable:"false" doc:"By month, YYYY-MM; an empty name is that the day is not known."`
	Chart    *Chart  `json:"chart,omitempty" doc:"Single values over time; missing when there are too few."`
	Shares   []Month `json:"shares" nullable:"false" doc:"Share failing by month, the p chart; empty when there are too few."`
	TooFew   string  `json:"too_few,omitempty" doc:"Why there is no chart, in words."`

	Coincides []Coincidence `json:"coincides" nullable:"false" doc:"What values outside the limits of the chart, and of its moving average, have in common more often than those within, by more than chance explains (Fisher's exact test, 5 %). Of many things that are compared one may coincide by chance."`
}

// Group is the cases of a reading that have something in common.
type Group struct {
	Name      string   `json:"name"`
	Values    int      `json:"values"`
	Median    *float64 `json:"median" doc:"null with fewer than 5 values."`
	Fails     Share    `json:"fails"`
	Undecided Share    `json:"undecided"`
	Few       bool     `json:"few" doc:"Fewer than 10 cases were compared with a limit: the share says little."`
}

// Month is a point of the p chart.
type Month struct {
	Month string  `json:"month" doc:"YYYY-MM"`
	Count int     `json:"count"`
	Of    int     `json:"of"`
	Share float64 `json:"share"`
	Low   float64 `json:"low" doc:"Limits: three standard deviations from the share over all months."`
	High  float64 `json:"high"`
	Out   bool    `json:"out"`
}

// Chart is the single values over time with the limits of chance (not those of
// the reading): of one value, of the difference from one to the next, and of
// the moving average, whose weight for the newest value is 0.2.
type Chart struct {
	Center    float64 `json:"center" doc:"Mean of the values; means follow single far values, unlike medians."`
	Low       float64 `json:"low" doc:"Limits: three standard deviations, taken from one value to the next."`
	High      float64 `json:"high"`
	HighRange float64 `json:"high_range" doc:"Limit of the moving range."`
	Points    []Point `json:"points" nullable:"false" doc:"In the order of days."`
}

// Point is one case of the chart.
type Point struct {
	Case        string  `json:"case"`
	Date        string  `json:"date"`
	Dentist     string  `json:"dentist"`
	Tooth       string  `json:"tooth"`
	Value       float64 `json:"value"`
	Out         bool    `json:"out"`
	Range       float64 `json:"range" doc:"Difference from the value before; 0 for the first."`
	RangeOut    bool    `json:"range_out"`
	Average     float64 `json:"average" doc:"Moving average."`
	AverageLow  float64 `json:"average_low"`
	AverageHigh float64 `json:"average_high"`
	AverageOut  bool    `json:"average_out"`
}

// Coincidence is something that cases outside the limits have in common.
type Coincidence struct {
	What  string `json:"what" enum:"dentist,tooth,used"`
	Name  string `json:"name" doc:"A dentist's code, a tooth's number, or what was used with its lot."`
	Out   int    `json:"out" doc:"Cases outside that have it."`
	OutOf int    `json:"out_of" doc:"All cases outside."`
	In    int    `json:"in" doc:"Cases within that have it."`
	InOf  int    `json:"in_of" doc:"All cases within."`
}

// How the moving average runs. Source: NIST/SEMATECH e-Handbook, 6.3.2.4:
// weights of 0.2 to 0.3 and limits of 3 standard deviations.
const (
	lambda = 0.2
	width  = 3
)

// Look looks closely at one reading of all cases; nil where none has it.
func Look(cases []Case, id reading.ID) *Detail {
	for _, s := range gather(cases) {
		if s.id == id {
			return s.look()
		}
	}
	return nil
}

// look looks closely at one reading.
func (s *series) look() *Detail {
	d := &Detail{Summary: s.summary(), Shares: []Month{}, Coincides: []Coincidence{},
		Dentists: s.groups(func(c *Case) string { return c.Dentist }),
		Teeth:    s.groups(func(c *Case) string { return c.Tooth }),
		Months:   s.groups(func(c *Case) string { return month(c.Date) })}
	dated := s.dated()
	if len(dated) < leastChart {
		d.TooFew = fmt.Sprintf("Not enough for a chart over time: %d values have a day, and it takes %d.", len(dated), leastChart)
		return d
	}
	d.Chart = chart(dated)
	d.Shares = shares(dated)
	d.Coincides = coincide(dated, d.Chart)
	return d
}

// month is the month of a day.
func month(date string) string {
	if len(date) < len("2006-01") {
		return ""
	}
	return date[:len("2006-01")]
}

// groups sorts the cases by a name.
func (s *series) groups(name func(*Case) string) []Group {
	at := map[string][]sample{}
	for _, x := range s.all {
		n := name(x.of)
		at[n] = append(at[n], x)
	}
	out := []Group{}
	for n, all := range at {
		values := (&series{all: all}).values()
		slices.Sort(values)
		fails, undecided, judged := count(all)
		out = append(out, Group{n, len(values), quantiles(values).Median, ShareOf(fails, judged), ShareOf(undecided, judged), judged < leastGroup})
	}
	slices.SortFunc(out, func(a, b Group) int {
		return cmp.Or(cmp.Compare(empty(a.Name), empty(b.Name)), cmp.Compare(a.Name, b.Name))
	})
	return out
}

// empty puts what has no name last.
func empty(name string) int {
	if name == "" {
		return 1
	}
	return 0
}

// dated are the samples with a value and a day, in the order of days.
func (s *series) dated() []sample {
	var out []sample
	for _, x := range s.all {
		if x.of.Date != "" && x.Value.Value != nil {
			out = append(out, x)
		}
	}
	return out
}

// chart lays the charts of single values, ranges and the moving average over
// samples. Its limits come from the values themselves: it looks back.
func chart(all []sample) *Chart {
	values := make([]float64, len(all))
	for i, x := range all {
		values[i] = *x.Value.Value
	}
	c := spc.ChartIndividuals(values)
	moved := spc.Drift{Lambda: lambda, L: width, Center: c.Center, Sigma: c.Sigma}.Follow(values)
	out := &Chart{Center: c.Center, Low: c.Low, High: c.High, HighRange: c.HighRange}
	for i, x := range all {
		p := Point{Case: x.of.Name, Date: x.of.Date, Dentist: x.of.Dentist, Tooth: x.of.Tooth, Value: values[i], Out: c.Out(values[i]),
			Average: moved[i].Average, AverageLow: moved[i].Low, AverageHigh: moved[i].High, AverageOut: moved[i].Out()}
		if i > 0 {
			p.Range = max(values[i]-values[i-1], values[i-1]-values[i])
			p.RangeOut = p.Range > c.HighRange
		}
		out.Points = append(out.Points, p)
	}
	return out
}

// outside reports whether the value or the average with it lies outside.
func (p *Point) outside() bool { return p.Out || p.AverageOut }

func (c *Chart) outside() (n int) {
	for i := range c.Points {
		if c.Points[i].outside() {
			n++
		}
	}
	return n
}

// shares is the p chart by month.
func shares(all []sample) []Month {
	var names []string
	var counts, of []int
	for from := 0; from < len(all); {
		to := from
		for to < len(all) && month(all[to].of.Date) == month(all[from].of.Date) {
			to++
		}
		if fails, _, judged := count(all[from:to]); judged > 0 {
			names, counts, of = append(names, month(all[from].of.Date)), append(counts, fails), append(of, judged)
		}
		from = to
	}
	out := []Month{}
	if len(names) < 2 { // a month is compared with others
		return out
	}
	for i, p := range spc.ChartProportions(counts, of).Points {
		out = append(out, Month{names[i], p.Count, p.Of, p.Share, p.Low, p.High, p.Out})
	}
	return out
}

// oftener is the probability below which cases outside have something in common
// more often than chance explains.
const oftener = 0.05

// coincide counts what cases outside have in common more often than those
// within, by more than chance explains.
func coincide(all []sample, c *Chart) []Coincidence {
	type key struct{ what, name string }
	at := map[key]*Coincidence{}
	out, in := 0, 0
	for i, x := range all {
		isOut := c.Points[i].outside()
		if isOut {
			out++
		} else {
			in++
		}
		keys := []key{{"dentist", x.of.Dentist}, {"tooth", x.of.Tooth}}
		for _, u := range x.of.Used {
			keys = append(keys, key{"used", u})
		}
		for _, k := range keys {
			if at[k] == nil {
				at[k] = &Coincidence{What: k.what, Name: k.name}
			}
			if isOut {
				at[k].Out++
			} else {
				at[k].In++
			}
		}
	}
	found := []Coincidence{}
	for k, x := range at {
		if x.OutOf, x.InOf = out, in; k.name != "" && spc.Together(x.Out, out, x.In, in) < oftener {
			found = append(found, *x)
		}
	}
	slices.SortFunc(found, func(a, b Coincidence) int {
		return cmp.Or(cmp.Compare(b.Out, a.Out), cmp.Compare(a.In, b.In), cmp.Compare(a.What, b.What), cmp.Compare(a.Name, b.Name))
	})
	return found
}

// Whole is a report with all there is to say of each reading.
type Whole struct {
	*Report
	Readings []*Detail `json:"readings"`
}

// WholeOf looks closely at every reading of a report over cases.
func WholeOf(r *Report, cases []Case) Whole {
	w := Whole{r, []*Detail{}}
	for _, s := range gather(cases) {
		w.Readings = append(w.Readings, s.look())
	}
	return w
}
