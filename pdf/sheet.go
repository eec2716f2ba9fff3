package pdf

import (
	"bytes"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"io"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goitalic"
	"golang.org/x/image/font/gofont/goregular"
)

// rgb is a colour of the page, for white paper.
type rgb [3]int

// The page's colours; no colour means good or bad.
var (
	ink    = rgb{0x24, 0x1b, 0x2b}
	quiet  = rgb{0x62, 0x58, 0x68}
	rule   = rgb{0xd8, 0xcf, 0xc2}
	edge   = rgb{0x8d, 0x83, 0x92}
	accent = rgb{0x6a, 0x3d, 0x8a}
	soft   = rgb{0xf3, 0xed, 0xf6}
	white  = rgb{255, 255, 255}
)

// Margins and the foot's height, mm.
const (
	margin = 16.0
	top    = 14.0
	foot   = 16.0
)

// pointMM is a typographic point in mm.
const pointMM = 25.4 / 72

// The styles of a font.
const (
	regular = ""
	bold    = "B"
	italic  = "I"
)

// sheet is a document being set, with a place that moves down.
type sheet struct {
	*fpdf.Fpdf
	w, h float64 // of the paper
	y    float64

	rowSize float64      // of the ledger, points
	widths  map[int]bool // of the pictures, pixels
}

// newSheet begins a document. At is when its content was made; zero when that
// is not kept, which the document then gives as the epoch.
func newSheet(paper Paper, title string, at time.Time, footer string) *sheet {
	size, rows := "A4", 7.6
	if paper == Letter { // the lower one
		size, rows = "Letter", 7.0
	}
	f := fpdf.New("P", "mm", size, "")
	f.SetCatalogSort(true)
	if at.IsZero() {
		at = time.Unix(0, 0)
	}
	f.SetCreationDate(at.UTC())
	f.SetModificationDate(at.UTC())
	f.SetProducer("Crown Assay", true)
	f.SetCreator("Crown Assay", true)
	f.SetTitle(title, true)
	f.SetLang("en")
	f.AddUTF8FontFromBytes("go", regular, goregular.TTF)
	f.AddUTF8FontFromBytes("go", bold, gobold.TTF)
	f.AddUTF8FontFromBytes("go", italic, goitalic.TTF)
	f.SetMargins(margin, top, margin)
	f.SetAutoPageBreak(false, 0)
	f.SetCellMargin(0)
	f.AliasNbPages("{nb}")
	s := &sheet{Fpdf: f, rowSize: rows}
	s.w, s.h = f.GetPageSize()
	f.SetFooterFunc(func() { s.footer(footer) })
	s.page()
	return s
}

// page begins a new one.
func (s *sheet) page() {
	s.AddPage()
	s.y = top
}

// wide is the width between the margins.
func (s *sheet) wide() float64 { return s.w - 2*margin }

// room begins a new page where less than h is left on this one.
func (s *sheet) room(h float64) bool {
	if s.y+h <= s.h-foot {
		return false
	}
	s.page()
	return true
}

func (s *sheet) footer(text string) {
	y := s.h - foot + 5
	s.line(margin, y-2, s.w-margin, y-2, rule, 0.2)
	s.set(7, regular, quiet)
	s.SetXY(margin, y)
	s.CellFormat(s.wide()-30, 4, text, "", 0, "L", false, 0, "")
	s.SetXY(s.w-margin-30, y)
	s.CellFormat(30, 4, fmt.Sprintf("page %d of {nb}", s.PageNo()), "", 0, "R", false, 0, "")
}

// set chooses a font's size in points, style and colour.
func (s *sheet) set(size float64, style string, c rgb) {
	s.SetFont("go", style, size)
	s.SetTextColor(c[0], c[1], c[2])
}

// leading is the height of a line of text, mm.
func leading(size float64) float64 { return size * pointMM * 1.28 }

// write sets one line in a box and cuts it off where it is too long.
func (s *sheet) write(x, y, w float64, size float64, style string, c rgb, align, text string) {
	s.set(size, style, c)
	for s.GetStringWidth(text) > w && w > 0 && len(text) > 1 {
		r := []rune(strings.TrimSuffix(text, "…"))
		text = strings.TrimRight(string(r[:len(r)-1]), " ,.") + "…"
	}
	s.SetXY(x, y)
	s.CellFormat(w, leading(size), text, "", 0, align, false, 0, "")
}

// lines breaks a text into lines of a width.
func (s *sheet) lines(w, size float64, style, text string) []string {
	s.set(size, style, ink)
	var out []string
	for _, p := range strings.Split(text, "\n") {
		row := ""
		for _, word := range strings.Fields(p) {
			if row != "" && s.GetStringWidth(row+" "+word) > w {
				out, row = append(out, row), ""
			}
			if row != "" {
				row += " "
			}
			row += word
		}
		out = append(out, row)
	}
	return out
}

// para sets a paragraph at x from y on and returns where it ends.
func (s *sheet) para(x, y, w, size float64, style string, c rgb, text string) float64 {
	for _, l := range s.lines(w, size, style, text) {
		s.set(size, style, c)
		s.SetXY(x, y)
		s.CellFormat(w, leading(size), l, "", 0, "L", false, 0, "")
		y += leading(size)
	}
	return y
}

// text sets a paragraph over the whole width and moves down.
func (s *sheet) text(size float64, style string, c rgb, text string) {
	s.y = s.para(margin, s.y, s.wide(), size, style, c, text)
}

// head sets a heading with a rule under it.
func (s *sheet) head(text, beside string) {
	s.write(margin, s.y, s.wide(), 11, bold, ink, "L", text)
	if beside != "" {
		x := margin + s.GetStringWidth(text) + 3
		s.write(x, s.y+0.9, s.w-margin-x, 8, regular, quiet, "L", beside)
	}
	s.y += leading(11) + 0.6
	s.line(margin, s.y, s.w-margin, s.y, edge, 0.25)
	s.y += 1.6
}

func (s *sheet) line(x1, y1, x2, y2 float64, c rgb, width float64) {
	s.SetDrawColor(c[0], c[1], c[2])
	s.SetLineWidth(width)
	s.Line(x1, y1, x2, y2)
}

func (s *sheet) fill(x, y, w, h float64, c rgb) {
	s.SetFillColor(c[0], c[1], c[2])
	s.Rect(x, y, w, h, "F")
}

// frame draws a box.
func (s *sheet) frame(x, y, w, h float64, c rgb) {
	s.SetDrawColor(c[0], c[1], c[2])
	s.SetLineWidth(0.2)
	s.Rect(x, y, w, h, "D")
}

// dashed draws with dashes of a length, mm.
func (s *sheet) dashed(dash float64, draw func()) {
	s.SetDashPattern([]float64{dash, dash * 0.7}, 0)
	draw()
	s.SetDashPattern(nil, 0)
}

// path draws a line through points of the paper.
func (s *sheet) path(p [][2]float64, closed bool, c rgb, width float64) {
	if len(p) < 2 {
		return
	}
	s.SetDrawColor(c[0], c[1], c[2])
	s.SetLineWidth(width)
	s.SetLineJoinStyle("round")
	s.MoveTo(p[0][0], p[0][1])
	for _, q := range p[1:] {
		s.LineTo(q[0], q[1])
	}
	if closed {
		s.ClosePath()
	}
	s.DrawPath("D")
}

// image places a PNG. The library writes pictures in the order of their width,
// and those of one width in any order; so that the same report has the same
// bytes, a width that was there already gets white columns, which are cut off.
func (s *sheet) image(b []byte, x, y, w, h float64) {
	m, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		s.SetErrorf("read picture: %w", err)
		return
	}
	was := m.Bounds().Dx()
	if wide := s.unused(was); wide > was {
		out := image.NewRGBA(image.Rect(0, 0, wide, m.Bounds().Dy()))
		draw.Draw(out, out.Bounds(), image.White, image.Point{}, draw.Src)
		draw.Draw(out, m.Bounds(), m, m.Bounds().Min, draw.Src)
		var again bytes.Buffer
		if err := png.Encode(&again, out); err != nil {
			s.SetErrorf("write picture: %w", err)
			return
		}
		b, m = again.Bytes(), out
	}
	n, o := fmt.Sprintf("p%d", len(s.widths)), fpdf.ImageOptions{ImageType: "PNG"}
	s.RegisterImageOptionsReader(n, o, bytes.NewReader(b))
	s.ClipRect(x, y, w, h, false)
	s.ImageOptions(n, x, y, w*float64(m.Bounds().Dx())/float64(was), h, false, o, 0, "")
	s.ClipEnd()
}

// unused is the least width from w on that no picture has.
func (s *sheet) unused(w int) int {
	if s.widths == nil {
		s.widths = map[int]bool{}
	}
	for s.widths[w] {
		w++
	}
	s.widths[w] = true
	return w
}

// finish writes the document.
func (s *sheet) finish(w io.Writer) error {
	if err := s.Output(w); err != nil {
		return fmt.Errorf("set report: %w", err)
	}
	return nil
}
