package pdf

import (
	"io"
	"time"
)

// Plain is a dated sheet of facts and tables, one page or more, such as that of
// a scanner's check.
type Plain struct {
	Title  string
	Made   time.Time
	Facts  [][2]string // name and what it is
	Tables []PlainTable
	After  [][2]string
	Says   string
	Paper  Paper
}

// PlainTable has its first column flush left and the others flush right.
type PlainTable struct {
	Head []string
	Rows [][]string
}

// Write sets the sheet.
func (p *Plain) Write(w io.Writer) error {
	s := newSheet(p.Paper, p.Title, p.Made, "Crown Assay. A measuring aid; clinical judgement and the makers' instructions come first.")
	s.write(margin, s.y, s.wide(), 18, bold, ink, "L", p.Title)
	s.y += leading(18) + 2
	s.facts(p.Facts)
	for _, t := range p.Tables {
		s.table(t)
	}
	s.facts(p.After)
	s.text(8, regular, quiet, p.Says)
	return s.finish(w)
}

// facts sets names with what they are.
func (s *sheet) facts(fs [][2]string) {
	const name = 30.0
	for _, f := range fs {
		s.room(leading(9) * float64(len(s.lines(s.wide()-name, 9, regular, f[1]))))
		s.write(margin, s.y, name, 9, bold, ink, "L", f[0])
		s.y = s.para(margin+name, s.y, s.wide()-name, 9, regular, ink, f[1])
	}
	s.y += 4
}

// table sets a table with columns as wide as what stands in them.
func (s *sheet) table(t PlainTable) {
	const size, gap, widest = 8.0, 3.0, 55.0 // points, mm, mm
	wide := make([]float64, len(t.Head))
	for k, row := range append([][]string{t.Head}, t.Rows...) {
		s.set(size, map[bool]string{true: bold, false: regular}[k == 0], ink)
		for i, c := range row {
			wide[i] = min(widest, max(wide[i], s.GetStringWidth(c)))
		}
	}
	for k, row := range append([][]string{t.Head}, t.Rows...) {
		s.room(leading(size) + 1)
		x := margin
		for i, c := range row {
			align, style := "R", regular
			if i == 0 {
				align = "L"
			}
			if k == 0 {
				style = bold
			}
			s.write(x, s.y, wide[i]+0.5, size, style, ink, align, c)
			x += wide[i] + gap
		}
		s.y += leading(size)
		if k == 0 {
			s.line(margin, s.y, s.w-margin, s.y, rule, 0.3)
			s.y++
		}
	}
	s.y += 4
}
