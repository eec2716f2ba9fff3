package phantom

import (
	"math"

	"crownassay/geom"
)

// prepSheet runs the preparation's profile by length: every segment counts
// with its mean length round the tooth.
type prepSheet struct {
	*prep
	from [segEnd + 1]float64 // q where a segment begins; the last is the span
}

func newPrepSheet(p *prep) *prepSheet {
	s := &prepSheet{prep: p}
	const turns, steps = 48, 16
	for k := range segEnd {
		sum := 0.0
		for i := range turns {
			sum += segmentLength(p, 2*math.Pi*float64(i)/turns, k, steps)
		}
		s.from[k+1] = s.from[k] + sum/turns
	}
	return s
}

func segmentLength(p *prep, a float64, k, steps int) float64 {
	c := p.section(a)
	l, last := 0.0, c.at(float64(k))
	for i := 1; i <= steps; i++ {
		q := c.at(float64(k) + (float64(i)-1e-9)/float64(steps))
		l += math.Hypot(q.r-last.r, q.z-last.z)
		last = q
	}
	return l
}

// u turns a running length into the profile parameter.
func (s *prepSheet) u(q float64) float64 {
	for k := range segEnd {
		if q < s.from[k+1] {
			return float64(k) + (q-s.from[k])/(s.from[k+1]-s.from[k])
		}
	}
	return segEnd
}

// point implements sheet: the preparation as scanned, smears included.
func (s *prepSheet) point(a, q float64) geom.Vec {
	u := s.u(q)
	w := s.smear(a)
	if w == 0 {
		return s.prep.point(a, u)
	}
	c := s.section(a)
	dry, wet := c.at(u), c.smeared(u)
	r, z := dry.r+w*(wet.r-dry.r), dry.z+w*(wet.z-dry.z)
	sn, cs := math.Sincos(a)
	return geom.Vec{X: r * cs, Y: r * sn, Z: z}
}

func (s *prepSheet) span() float64 { return s.from[segEnd] }

// grain halves the spacing about the finish line.
func (s *prepSheet) grain(q float64) float64 {
	d := math.Abs(q - s.from[segRoot])
	return 0.55 + 0.35*step((d-0.7)/1.5) + 0.8*step((q-s.from[segGum]-1)/3)
}

func (s *prepSheet) edge() (float64, bool) { return s.from[segRoot], true }
