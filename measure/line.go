package measure

import (
	"fmt"
	"math"

	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/reading"
)

// FinishLine makes the readings of the finish line itself.
func (s *Site) FinishLine() []reading.Reading {
	out := []reading.Reading{s.length(), s.legible()}
	out = append(out, s.widths()...)
	out = append(out, s.roughness())
	return append(out, s.neighbours()...)
}

func (s *Site) length() reading.Reading {
	l := 0.0
	for k := range finishline.Sections {
		l += s.Line.Point(s.Frame, k).Dist(s.Line.Point(s.Frame, k+1))
	}
	even := s.evenLength() // noise and facets only make it longer
	r := reading.Reading{ID: "finish_line.length", Value: even, Parts: s.lengthParts(100, 1)}
	r.Parts = append(r.Parts, reading.Part{Name: "unevenness of the line", Standard: math.Abs(l-even) / math.Sqrt(3)})
	return r
}

// evenLength is the length of the finish line smoothed over 1 mm. How much
// shorter it is says how much of the length noise or facets may have made; it
// is taken as the half width of a rectangular distribution.
func (s *Site) evenLength() float64 {
	pts := s.Line.Points(s.Frame)
	even := make([]geom.Vec, len(pts))
	for k := range pts {
		even[k] = pts[k]
		if q, ok := smoothed(pts, k); ok {
			even[k] = q
		}
	}
	l := 0.0
	for k := range even {
		l += even[k].Dist(even[wrap(k+1)])
	}
	return l
}

// arc is a run of azimuths.
type arc struct{ from, count int }

// longest returns the longest run around the circle where bad holds.
func longest(bad func(k int) bool) arc {
	n := finishline.Sections
	best, run := arc{}, arc{}
	for k := range 2 * n {
		if !bad(wrap(k)) || run.count == n {
			run = arc{}
			continue
		}
		if run.count == 0 {
			run.from = k
		}
		run.count++
		if run.count > best.count {
			best = arc{wrap(run.from), run.count}
		}
	}
	return best
}

func (s *Site) legible() reading.Reading {
	r := reading.Reading{ID: "finish_line.legible", Value: 100 * s.Line.Share(s.Frame)}
	r.Parts = []reading.Part{{Name: "resolution of one section", Standard: 100.0 / finishline.Sections}}
	turns := make([]float64, finishline.Sections)
	for k := range turns {
		turns[k] = 0
		if s.Line.Legible[k] {
			turns[k] = 100
		}
	}
	r.Profile = profile(turns)
	worst := longest(func(k int) bool { return !s.Line.Legible[k] })
	if worst.count == 0 {
		return r
	}
	mid := wrap(worst.from + worst.count/2)
	l := 0.0
	for k := range worst.count {
		l += s.Line.Point(s.Frame, worst.from+k).Dist(s.Line.Point(s.Frame, worst.from+k+1))
	}
	r.At = s.place(mid, s.Line.Point(s.Frame, mid))
	r.Subs = []reading.Sub{{Name: "longest illegible arc", Value: l, Unit: "mm", At: r.At}}
	if s.Mesial {
		r.Note = fmt.Sprintf("the longest illegible arc is %.1f mm long, from %d to %d degrees (%s)",
			l, worst.from, wrap(worst.from+worst.count-1), reading.Sector(float64(mid)))
	} else {
		r.Note = fmt.Sprintf("the longest illegible arc is %.1f mm long", l)
	}
	return r
}

// widths measures the finish line's width in every section: from the finish
// line point square to the axis to the wall's fitted line at that height.
func (s *Site) widths() []reading.Reading {
	v := make([]float64, finishline.Sections)
	for k := range v {
		v[k] = math.NaN()
		if w := &s.Walls[k]; w.Ok && s.Line.Seen[k] {
			v[k] = s.Line.R[k] - (w.A + w.B*s.Line.Z[k])
		}
	}
	smooth := median3(v)
	k := lowest(smooth)
	if k < 0 {
		why := "no section shows both the finish line and the wall above it"
		return []reading.Reading{unmeasured("finish_line.width.min", why), unmeasured("finish_line.width.mean", why)}
	}
	avg, _ := mean(v)
	return []reading.Reading{
		{ID: "finish_line.width.min", Value: smooth[k], At: s.place(k, s.Line.Point(s.Frame, k)), Profile: profile(v), Parts: append(s.lengthParts(4, 1), below(v, k))},
		{ID: "finish_line.width.mean", Value: avg, Parts: s.lengthParts(100, 0.5)},
	}
}

// smoothArc is the length of arc, mm, over which the line is smoothed to see
// its roughness (definition).
const smoothArc = 1.0

// roughness is the RMS distance between the finish line and itself smoothed
// over 1 mm of arc. Smoothing is a least-squares parabola, since a plain mean
// would cut corners on a round tooth.
func (s *Site) roughness() reading.Reading {
	pts := s.Line.Points(s.Frame)
	sum, n := 0.0, 0
	for k := range pts {
		if !s.Line.Seen[k] {
			continue
		}
		if q, ok := smoothed(pts, k); ok {
			sum, n = sum+q.DistSq(pts[k]), n+1
		}
	}
	if n < finishline.Sections/4 {
		return unmeasured("finish_line.roughness", "too little of the finish line was seen")
	}
	return reading.Reading{ID: "finish_line.roughness", Value: math.Sqrt(sum / float64(n)),
		Parts: []reading.Part{{Name: "finish line repeatability", Standard: s.trace() / 3}}}
}

// smoothed fits a parabola over arc length to the points within half a
// smoothArc of pts[k] and returns its value there.
func smoothed(pts []geom.Vec, k int) (geom.Vec, bool) {
	var x []float64
	var p []geom.Vec
	for _, side := range []int{-1, 1} {
		at := 0.0
		for d := 1; d < 60 && at < smoothArc/2; d++ {
			a, b := pts[wrap(k+side*(d-1))], pts[wrap(k+side*d)]
			at += a.Dist(b)
			x, p = append(x, float64(side)*at), append(p, b)
		}
	}
	x, p = append(x, 0), append(p, pts[k])
	var s0, s1, s2, s3, s4 float64
	var t0, t1, t2 geom.Vec
	for i, u := range x {
		s0, s1, s2, s3, s4 = s0+1, s1+u, s2+u*u, s3+u*u*u, s4+u*u*u*u
		t0, t1, t2 = t0.Add(p[i]), t1.Add(p[i].Mul(u)), t2.Add(p[i].Mul(u*u))
	}
	det := s0*(s2*s4-s3*s3) - s1*(s1*s4-s3*s2) + s2*(s1*s3-s2*s2)
	if math.Abs(det) < 1e-12 {
		return geom.Vec{}, false
	}
	q := t0.Mul(s2*s4 - s3*s3).Sub(t1.Mul(s1*s4 - s2*s3)).Add(t2.Mul(s1*s3 - s2*s2))
	return q.Mul(1 / det), true
}
