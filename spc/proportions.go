package spc

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Proportions is the p chart: the share of events among so many at a time.
// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2.
type Proportions struct {
	Center float64 // the share over all
	Points []Proportion
}

// Proportion is one point of the chart.
type Proportion struct {
	Count, Of int
	Share     float64
	Low, High float64 // center -+ 3 sqrt(center (1 - center) / of), within 0 to 1
	Tail      float64 // probability of a count as far out or farther on its side, were nothing changed; 1 for the center
	Out       bool
}

// normalTail is the probability beyond three standard deviations on one side
// of a normal distribution, 0.00135.
var normalTail = distuv.UnitNormal.Survival(sigmas)

// ChartProportions works the chart out from counts, each of so many. The limits
// rest on the normal distribution, which few at a time do not have: a point is
// out where it lies outside them and the binomial distribution too gives it less
// than what lies beyond three standard deviations.
func ChartProportions(counts, of []int) Proportions {
	var c Proportions
	all, events := 0, 0
	for i, n := range of {
		all += n
		events += counts[i]
	}
	if all == 0 {
		return c
	}
	c.Center = float64(events) / float64(all)
	for i, n := range of {
		if n > 0 {
			c.Points = append(c.Points, c.point(counts[i], n))
		}
	}
	return c
}

func (c *Proportions) point(k, n int) Proportion {
	p := Proportion{Count: k, Of: n, Share: float64(k) / float64(n), Tail: 1}
	w := sigmas * math.Sqrt(c.Center*(1-c.Center)/float64(n))
	p.Low, p.High = math.Max(0, c.Center-w), math.Min(1, c.Center+w)
	if c.Center == 0 || c.Center == 1 {
		return p
	}
	b := distuv.Binomial{N: float64(n), P: c.Center}
	switch {
	case p.Share > c.Center:
		p.Tail = 1 - b.CDF(float64(k-1))
	case p.Share < c.Center:
		p.Tail = b.CDF(float64(k))
	}
	p.Out = (p.Share < p.Low || p.Share > p.High) && p.Tail < normalTail
	return p
}
