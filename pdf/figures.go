package pdf

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"crownassay/internal/palette"
	"crownassay/record"
)

// picture places a picture in a box of width w and returns its height.
func (s *sheet) picture(p *Picture, x, y, w float64) float64 {
	h := w * float64(p.Height) / float64(p.Width)
	s.image(p.PNG, x, y, w, h)
	s.frame(x, y, w, h, rule)
	for _, l := range p.Letters {
		if l.At[0] < 0.02 || l.At[0] > 0.98 || l.At[1] < 0.03 || l.At[1] > 0.97 {
			continue
		}
		s.tag(x+l.At[0]*w, y+l.At[1]*h, 7.5, bold, ink, "C", l.Text)
	}
	if p.Ring != nil {
		s.ring(x+p.Ring[0]*w, y+p.Ring[1]*h)
	}
	return h
}

// ring marks a place: dark with a light rim, seen on every colour.
func (s *sheet) ring(x, y float64) {
	s.SetDrawColor(255, 255, 255)
	s.SetLineWidth(1.3)
	s.Circle(x, y, 2.4, "D")
	s.SetDrawColor(ink[0], ink[1], ink[2])
	s.SetLineWidth(0.55)
	s.Circle(x, y, 2.4, "D")
}

// tag writes a short text about a place, on a light ground.
func (s *sheet) tag(x, y, size float64, style string, c rgb, align, text string) {
	s.set(size, style, c)
	w, h := s.GetStringWidth(text), leading(size)
	left := x
	switch align {
	case "C":
		left -= w / 2
	case "R":
		left -= w
	}
	s.SetAlpha(0.82, "Normal")
	s.fill(left-0.5, y-h/2, w+1, h, white)
	s.SetAlpha(1, "Normal")
	s.SetXY(left, y-h/2)
	s.CellFormat(w, h, text, "", 0, "L", false, 0, "")
}

// legend draws a scale from x on over width w: colours, ends, limits.
func (s *sheet) legend(c *Scale, x, y, w float64) float64 {
	const steps, bar = 64, 2.2
	for i := range steps {
		k := palette.At((float64(i) + 0.5) / steps)
		s.fill(x+w*float64(i)/steps, y, w/steps+0.05, bar, rgb{int(k.R), int(k.G), int(k.B)})
	}
	digits := 2
	if c.Max-c.Min > 5 {
		digits = 0
	}
	y2 := y + bar + 0.2
	s.write(x, y2, w, 6.5, regular, quiet, "L", plain(c.Min, digits))
	s.write(x, y2, w, 6.5, regular, quiet, "R", plain(c.Max, digits)+" "+c.Unit)
	last := math.Inf(-1)
	for _, l := range c.Limits {
		u := (l - c.Min) / (c.Max - c.Min)
		if u < 0 || u > 1 {
			continue
		}
		s.line(x+u*w, y-0.8, x+u*w, y+bar+0.5, ink, 0.5)
		if u-last > 0.25 && u > 0.14 && u < 0.80 {
			s.tag(x+u*w, y2+leading(6.5)/2, 6.5, bold, ink, "C", "limit "+short(l, digits))
			last = u
		}
	}
	return s.para(x, y2+leading(6.5), w, 6.5, regular, quiet, "Colour: "+c.Says+".")
}

// plain writes a number with its decimals and no minus zero.
func plain(v float64, digits int) string {
	t := strconv.FormatFloat(v, 'f', digits, 64)
	if strings.Trim(t, "-0.") == "" {
		return strings.TrimPrefix(t, "-")
	}
	return t
}

// short writes a limit with as many decimals as it needs, up to three.
func short(v float64, digits int) string {
	for ; digits < 3; digits++ {
		t := strconv.FormatFloat(v, 'f', digits, 64)
		if x, err := strconv.ParseFloat(t, 64); err == nil && math.Abs(x-v) < 1e-9 {
			return t
		}
	}
	return strconv.FormatFloat(v, 'f', digits, 64)
}

// stroke is how a surface is drawn in a section.
type stroke struct {
	c     rgb
	width float64
	dash  float64
	name  string
}

var strokes = map[string]stroke{
	"prepared": {ink, 0.45, 0, "preparation"},
	"opposing": {edge, 0.35, 0, "opposing teeth"},
	"before":   {quiet, 0.35, 1.0, "before"},
	"crown":    {accent, 0.5, 0, "crown as designed"},
	"finished": {accent, 0.4, 0.6, "crown as made"},
	"seated":   {edge, 0.3, 0.5, "seated"},
}

// roles are the surfaces in the order in which they are drawn and named.
var roles = []string{"opposing", "before", "prepared", "crown", "finished"}

// slice draws a section in a box.
func (s *sheet) slice(c *Slice, x, y, w, h float64) {
	scale := w / (2 * c.Half)
	at := func(p [2]float64) [2]float64 {
		return [2]float64{x + w/2 + (p[0]-c.At[0])*scale, y + h/2 - (p[1]-c.At[1])*scale}
	}
	s.ClipRect(x, y, w, h, false)
	for _, role := range roles {
		for _, l := range c.Lines {
			if l.Role != role {
				continue
			}
			k := strokes[role]
			p := make([][2]float64, 0, len(l.Points))
			for _, q := range l.Points {
				if r := at(q); len(p) == 0 || math.Hypot(r[0]-p[len(p)-1][0], r[1]-p[len(p)-1][1]) > 0.05 {
					p = append(p, r)
				}
			}
			draw := func() { s.path(p, l.Closed, k.c, k.width) }
			if k.dash > 0 {
				s.dashed(k.dash, draw)
			} else {
				draw()
			}
		}
	}
	s.ClipEnd()
	s.frame(x, y, w, h, rule)
	s.dimension(c, at, x, w)
	s.yardstick(c, x, y, h, scale)
}

// dimension marks the finding and writes its value.
func (s *sheet) dimension(c *Slice, at func([2]float64) [2]float64, x, w float64) {
	if c.Mark == nil {
		return
	}
	p := at(*c.Mark)
	if c.Other != nil {
		q := at(*c.Other)
		s.line(p[0], p[1], q[0], q[1], white, 1.1)
		s.line(p[0], p[1], q[0], q[1], ink, 0.35)
		for _, e := range [][2]float64{p, q} {
			s.SetFillColor(ink[0], ink[1], ink[2])
			s.Circle(e[0], e[1], 0.6, "F")
		}
	} else {
		s.ring(p[0], p[1])
	}
	if p[0] < x+w/2 {
		s.tag(p[0]+3.2, p[1]-3, 8, bold, ink, "L", c.Value)
	} else {
		s.tag(p[0]-3.2, p[1]-3, 8, bold, ink, "R", c.Value)
	}
}

// yardstick draws how long a millimetre or a part of one is.
func (s *sheet) yardstick(c *Slice, x, y, h, scale float64) {
	long := 1.0
	if c.Half < 2.5 {
		long = 0.5
	}
	if c.Half < 1 {
		long = 0.1
	}
	y += h - 2.2
	s.line(x+2, y, x+2+long*scale, y, ink, 0.5)
	s.tag(x+3.2+long*scale, y, 6.5, regular, ink, "L", short(long, 0)+" mm")
}

// key names the lines of a section.
func (s *sheet) key(c *Slice, x, y, w float64) float64 {
	at := x
	for _, role := range roles {
		there := false
		for _, l := range c.Lines {
			there = there || l.Role == role
		}
		if !there {
			continue
		}
		k := strokes[role]
		s.set(6.5, regular, quiet)
		need := 7 + s.GetStringWidth(k.name)
		if at > x && at+need > x+w {
			at, y = x, y+leading(6.5)
		}
		draw := func() { s.line(at, y+leading(6.5)/2, at+4, y+leading(6.5)/2, k.c, k.width) }
		if k.dash > 0 {
			s.dashed(k.dash, draw)
		} else {
			draw()
		}
		s.write(at+4.8, y, need, 6.5, regular, quiet, "L", k.name)
		at += need + 1
	}
	return y + leading(6.5)
}

// strip draws a reading unrolled around the tooth.
func (s *sheet) strip(r *record.DocReading, unreadable []bool, x, y, w, h float64) {
	const left, under = 8.0, 4.0
	px, py, pw, ph := x+left, y+1, w-left-1, h-under-2
	lo, hi := reach(r)
	X := func(a float64) float64 { return px + pw*a/360 }
	Y := func(v float64) float64 { return py + ph*(hi-v)/(hi-lo) }
	for _, a := range arcs(unreadable) {
		s.fill(X(a[0]), py, X(a[1])-X(a[0]), ph, rule)
	}
	for i, name := range []string{"M", "B", "D", "L", "M"} {
		a := 90 * float64(i)
		s.line(X(a), py, X(a), py+ph, rule, 0.15)
		if r.At != nil && r.At.Azimuth == nil {
			name = strconv.Itoa(int(a)) + "°"
		}
		s.write(X(a)-6, py+ph+0.6, 12, 6.5, regular, quiet, "C", name)
	}
	s.frame(px, py, pw, ph, rule)
	digits := 2
	if hi-lo > 8 {
		digits = 0
	}
	s.write(x, py-0.6, left-1, 6.5, regular, quiet, "R", plain(hi, digits))
	s.write(x, py+ph-leading(6.5)+0.6, left-1, 6.5, regular, quiet, "R", plain(lo, digits))
	s.ClipRect(px, py, pw, ph, false)
	s.curve(r, X, Y)
	s.ClipEnd()
	s.edges(r, X, Y, px, pw)
	if r.At != nil && r.At.Azimuth != nil && r.Value != nil {
		s.SetFillColor(ink[0], ink[1], ink[2])
		s.Circle(X(*r.At.Azimuth), math.Min(py+ph, math.Max(py, Y(*r.Value))), 0.9, "F")
	}
}

// curve draws the profile with its gaps.
func (s *sheet) curve(r *record.DocReading, X, Y func(float64) float64) {
	var run [][2]float64
	last := math.Inf(-1)
	for _, p := range r.Profile {
		if p.Value == nil || p.Azimuth-last > 1.5 {
			s.path(run, false, ink, 0.4)
			run = nil
		}
		if p.Value != nil {
			run, last = append(run, [2]float64{X(p.Azimuth), Y(*p.Value)}), p.Azimuth
		}
	}
	s.path(run, false, ink, 0.4)
}

// edges draws the limits with their labels.
func (s *sheet) edges(r *record.DocReading, X, Y func(float64) float64, px, pw float64) {
	if r.Limit == nil {
		return
	}
	for i, e := range []*float64{r.Limit.Min, r.Limit.Max} {
		if e == nil {
			continue
		}
		s.dashed(1.3, func() { s.line(px, Y(*e), px+pw, Y(*e), accent, 0.45) })
		a, below := clearing(r, *e)
		dy := -1.9
		if below {
			dy = 1.9
		}
		text := [2]string{"at least ", "at most "}[i] + r.EdgeText(*e)
		s.set(6.5, bold, accent)
		x := math.Min(X(a)+1.5, px+pw-s.GetStringWidth(text)-1)
		s.tag(x, Y(*e)+dy, 6.5, bold, accent, "L", text)
	}
}

// clearing finds where a limit's label keeps out of the curve's way: of arcs of
// 75 degrees the one from which the curve keeps farthest, and whether the free
// side is below.
func clearing(r *record.DocReading, edge float64) (azimuth float64, below bool) {
	best := math.Inf(-1)
	for from := 0.0; from <= 270; from += 15 {
		over, under := math.Inf(1), math.Inf(1)
		for _, p := range r.Profile {
			if p.Value != nil && p.Azimuth >= from && p.Azimuth < from+75 {
				over, under = math.Min(over, *p.Value-edge), math.Min(under, edge-*p.Value)
			}
		}
		if room := math.Max(over, under); room > best+1e-9 {
			best, azimuth, below = room, from, over >= under
		}
	}
	return azimuth, below
}

// reach is what the strip's height spans: the values and the limits, with a
// margin.
func reach(r *record.DocReading) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, p := range r.Profile {
		if p.Value != nil {
			lo, hi = math.Min(lo, *p.Value), math.Max(hi, *p.Value)
		}
	}
	if l := r.Limit; l != nil {
		for _, e := range []*float64{l.Min, l.Max} {
			if e != nil {
				lo, hi = math.Min(lo, *e), math.Max(hi, *e)
			}
		}
	}
	if !(hi > lo) {
		return lo - 0.5, lo + 0.5
	}
	pad := 0.12 * (hi - lo)
	if lo >= 0 && lo-pad < 0 {
		return 0, hi + pad
	}
	return lo - pad, hi + pad
}

// arcs gathers degrees that are set into runs.
func arcs(on []bool) [][2]float64 {
	var out [][2]float64
	for i, v := range on {
		if !v {
			continue
		}
		if n := len(out); n > 0 && out[n-1][1] == float64(i) {
			out[n-1][1]++
		} else {
			out = append(out, [2]float64{float64(i), float64(i + 1)})
		}
	}
	return out
}

// unreadable are the degrees at which the finish line was not legible.
func unreadable(d *record.Document) []bool {
	out := make([]bool, 360)
	if r := d.Reading("finish_line.legible"); r != nil {
		for _, p := range r.Profile {
			if p.Value != nil && *p.Value == 0 {
				out[int(math.Round(p.Azimuth))%360] = true
			}
		}
	}
	return out
}

// stamp writes a time of the record.
func stamp(e *record.Sealed) string {
	return fmt.Sprintf("%s UTC", e.At.UTC().Format("2006-01-02 15:04"))
}
