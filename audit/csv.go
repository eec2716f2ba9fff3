package audit

import (
	"encoding/csv"
	"io"
	"strconv"

	"crownassay/reading"
)

// The columns of the two tables; a contract that grows at its end.
var (
	valueColumns = []string{"case", "date", "dentist", "tooth", "material", "hold_point", "reading", "name", "value", "unit", "uncertainty",
		"limit_min", "limit_max", "verdict", "reason"}
	summaryColumns = []string{"hold_point", "reading", "name", "unit", "values", "unmeasured", "p5", "p25", "median", "p75", "p95",
		"compared", "fails", "fails_share", "fails_low", "fails_high", "undecided", "undecided_share", "undecided_low", "undecided_high"}
)

// WriteValues writes a table (RFC 4180, UTF-8) with a row for each case and
// reading. A case that could not be measured has one row with the reason.
// What is not there is empty.
func WriteValues(w io.Writer, cases []Case) error {
	var rows [][]string
	for i := range cases {
		c := &cases[i]
		about := []string{c.Name, c.Date, c.Dentist, c.Tooth, c.Material}
		if c.Problem != "" {
			rows = append(rows, append(about, "", "", "", "", "", "", "", "", "", c.Problem))
		}
		for _, v := range c.Readings {
			m, _ := reading.Find(v.ID)
			rows = append(rows, append(about[:5:5], string(m.HoldPoint), string(v.ID), m.Name, exact(v.Value), string(m.Unit), exact(v.Uncertainty),
				exact(v.Low), exact(v.High), string(v.Verdict), v.Reason))
		}
	}
	return table(w, valueColumns, rows)
}

// WriteSummary writes a table with a row for each reading.
func (r *Report) WriteSummary(w io.Writer) error {
	var rows [][]string
	for _, s := range r.Readings {
		q, f, u := s.Quantiles, s.Fails, s.Undecided
		row := []string{string(s.HoldPoint), string(s.Reading), s.Name, string(s.Unit), strconv.Itoa(s.Values), strconv.Itoa(s.Unmeasured),
			exact(q.P5), exact(q.P25), exact(q.Median), exact(q.P75), exact(q.P95), strconv.Itoa(f.Of)}
		rows = append(rows, append(append(row, share(f)...), share(u)...))
	}
	return table(w, summaryColumns, rows)
}

// share is a count with its share and interval; a share of none is empty.
func share(s Share) []string {
	if s.Of == 0 {
		return []string{"0", "", "", ""}
	}
	return []string{strconv.Itoa(s.Count), four(s.Share), four(s.Low), four(s.High)}
}

func four(x float64) string { return strconv.FormatFloat(x, 'f', 4, 64) }

func table(w io.Writer, columns []string, rows [][]string) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	if err := c.Write(columns); err != nil {
		return err
	}
	return c.WriteAll(rows)
}

// exact is a number with all its digits; empty for none.
func exact(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'f', -1, 64)
}
