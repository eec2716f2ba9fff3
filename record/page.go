package record

import (
	"fmt"
	"strconv"
	"strings"

	"crownassay/internal/text"
	"crownassay/reading"
)

// page sets text in columns.
type page struct {
	b     strings.Builder
	width int
	color bool

	budget bool // shown under each row
}

func (p *page) line(s string) { p.b.WriteString(strings.TrimRight(s, " ") + "\n") }

func plain(s string) string { return s }

// style wraps s in a terminal attribute, where colour is wanted.
func (p *page) style(code, s string) string {
	if !p.color || s == "" {
		return s
	}
	return "\x1b[" + code + "m" + s + "\x1b[0m"
}

func (p *page) bold(s string) string { return p.style("1", s) }
func (p *page) dim(s string) string  { return p.style("2", s) }

// verdict sets the verdict's word: bold in the one hue, a blue, where
// something is to be done, dim where nothing is compared.
func (p *page) verdict(v reading.Verdict, s string) string {
	switch v {
	case reading.Fails:
		return p.style("1;34", s)
	case reading.Undecided:
		return p.style("34", s)
	case reading.Unmeasured, reading.Informs:
		return p.dim(s)
	}
	return s
}

// wrap writes text behind a first indent, in lines of the page's width; lines
// after the first are indented by as many blanks.
func (p *page) wrap(indent, s string, style func(string) string) {
	n := len(indent)
	for _, row := range text.Wrap(indent, s, p.width) {
		p.line(row[:n] + style(row[n:]))
	}
}

// number prints x with so many decimals and without a minus zero.
func number(x float64, digits int) string {
	s := fmt.Sprintf("%.*f", digits, x)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}

// uncertainty prints u so that it is never shown as nothing.
func uncertainty(u float64, digits int) string {
	s := number(u, digits)
	if strings.Trim(s, "0.") == "" {
		return number(u, digits+1)
	}
	return s
}

// short prints a limit with the decimals that the values beside it have, or up
// to two more if it was written with them.
func short(x float64, digits int) string {
	for more := range 3 {
		s := number(x, digits+more)
		if y, err := strconv.ParseFloat(s, 64); err == nil && y == x {
			return s
		}
	}
	return number(x, digits)
}
