package audit

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"crownassay/internal/text"
	"crownassay/record"
)

// Caution stands under every audit.
const Caution = "Differences between dentists, teeth or months that have few cases mean little: look at the intervals. What coincides need not be the " +
	"cause. Values are compared with the limits each case was measured with; a person's own verdicts are not counted."

// columns is how wide the text is set.
const columns = 80

// WriteText writes the report as text.
func (r *Report) WriteText(w io.Writer) error {
	var b strings.Builder
	line := func(indent, s string) {
		for _, row := range text.Wrap(indent, s, columns) {
			b.WriteString(strings.TrimRight(row, " ") + "\n")
		}
	}
	line("", r.head())
	group := ""
	for i := range r.Readings {
		s := &r.Readings[i]
		if string(s.HoldPoint) != group {
			group = string(s.HoldPoint)
			b.WriteString("\n" + strings.ToUpper(group) + "\n" + strings.Repeat("-", columns) + "\n")
		}
		b.WriteString(s.Name + "\n")
		for _, t := range s.says(r.Dated >= leastChart) {
			line("  ", t)
		}
	}
	if len(r.Problems) > 0 {
		b.WriteString("\nNOT MEASURED\n" + strings.Repeat("-", columns) + "\n")
		for _, p := range r.Problems {
			b.WriteString(p.Case + "\n")
			line("  ", p.Reason)
		}
	}
	b.WriteString("\n")
	line("", Caution)
	_, err := io.WriteString(w, b.String())
	return err
}

func (r *Report) head() string {
	s := fmt.Sprintf("Audit of %s: %d measured, %d could not be.", cases(r.Cases), r.Measured, len(r.Problems))
	if r.Dated == 0 {
		return s + " No case has a day: nothing can be said about time."
	}
	s += fmt.Sprintf(" %d have a day, from %s to %s.", r.Dated, r.First, r.Last)
	if r.Dated < leastChart {
		s += fmt.Sprintf(" Not enough for a chart over time, which takes %d.", leastChart)
	}
	return s
}

func cases(n int) string {
	if n == 1 {
		return "1 case"
	}
	return strconv.Itoa(n) + " cases"
}

// says are the sentences about one reading, over time too where there are
// enough cases with a day at all.
func (s *Summary) says(time bool) (out []string) {
	t := cases(s.Values) + " with a value"
	if s.Values == 1 {
		t = "1 case with a value"
	}
	if s.Unmeasured > 0 {
		t += fmt.Sprintf(", %d without", s.Unmeasured)
	}
	q := s.Quantiles
	if q.Median == nil {
		t += fmt.Sprintf("; not enough for a median, which takes %d", leastMedian)
	} else {
		t += "; median " + s.number(*q.Median) + record.UnitText(s.Unit)
		if q.P25 != nil && q.P75 != nil {
			t += fmt.Sprintf(", the middle half %s to %s", s.number(*q.P25), s.number(*q.P75))
		}
		if q.P5 != nil && q.P95 != nil {
			t += fmt.Sprintf(", nine of ten %s to %s", s.number(*q.P5), s.number(*q.P95))
		}
	}
	out = append(out, t)
	if f := s.Fails; f.Of > 0 {
		t := fmt.Sprintf("%d of %d fail: %s %% (95 %% interval %s to %s); %d undecided", f.Count, f.Of, percent(f.Share), percent(f.Low), percent(f.High), s.Undecided.Count)
		out = append(out, t)
	}
	switch {
	case s.Outside == nil && time:
		out = append(out, fmt.Sprintf("not enough values with a day for a chart over time, which takes %d", leastChart))
	case s.Outside != nil && *s.Outside > 0:
		out = append(out, fmt.Sprintf("over time %s outside the limits of chance", cases(*s.Outside)))
	}
	return out
}

func (s *Summary) number(x float64) string { return strconv.FormatFloat(x, 'f', s.Digits, 64) }

func percent(x float64) string { return strconv.FormatFloat(100*x, 'f', 1, 64) }
