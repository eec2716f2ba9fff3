package conformity

import (
	"math"

	"crownassay/reading"
)

// Rule is how a value with an uncertainty is compared with a limit.
type Rule string

// The rules. The guard band is the one when none is chosen.
const (
	GuardBand  Rule = "guard"       // a band as wide as the expanded uncertainty on either side (JCGM 106, 8.3)
	Simple     Rule = "simple"      // the value as it stands: risk is shared (JCGM 106, 8.2)
	Likelihood Rule = "probability" // conforms from 95 % conformance probability on, fails from 5 % down (JCGM 106, 7 and 8.3.3)
)

// enough is the conformance probability from which a value conforms by
// Likelihood, and that of its contrary.
const enough = 0.95

// Decide compares the value y, of expanded uncertainty U, with a limit.
// Without a limit it informs.
func (r Rule) Decide(y, U float64, l *reading.Limit) reading.Verdict {
	if l == nil || l.Min == nil && l.Max == nil {
		return reading.Informs
	}
	switch r {
	case Simple:
		return Decide(y, 0, l)
	case Likelihood:
		switch p := Probability(y, U/Coverage, l); {
		case p >= enough:
			return reading.Conforms
		case p <= 1-enough:
			return reading.Fails
		}
		return reading.Undecided
	}
	return Decide(y, U, l)
}

// Decide compares the value y, of expanded uncertainty U, with a limit by a
// guard band as wide as U on either side (JCGM 106, 8.3): it conforms if it is
// inside the limit by U or more, fails if it is outside by more than U, and is
// undecided in between. Without a limit it informs.
func Decide(y, U float64, l *reading.Limit) reading.Verdict {
	if l == nil || l.Min == nil && l.Max == nil {
		return reading.Informs
	}
	v := reading.Conforms
	if l.Min != nil {
		v = worse(v, side(y, *l.Min, U))
	}
	if l.Max != nil {
		v = worse(v, side(-y, -*l.Max, U))
	}
	return v
}

// side decides for the lower limit t.
func side(y, t, U float64) reading.Verdict {
	switch {
	case y >= t+U:
		return reading.Conforms
	case y < t-U:
		return reading.Fails
	}
	return reading.Undecided
}

// rank orders the verdicts, worst first.
var rank = map[reading.Verdict]int{
	reading.Fails: 0, reading.Undecided: 1, reading.Unmeasured: 2, reading.Conforms: 3, reading.Informs: 4,
}

func worse(a, b reading.Verdict) reading.Verdict {
	if rank[b] < rank[a] {
		return b
	}
	return a
}

// Probability returns the probability that the true value conforms, for a
// normal distribution of standard uncertainty u about y (JCGM 106, 7.3). With
// u 0 it is 0 or 1.
func Probability(y, u float64, l *reading.Limit) float64 {
	p := 1.0
	if l.Min != nil {
		p -= phi(*l.Min-y, u)
	}
	if l.Max != nil {
		p -= phi(y-*l.Max, u)
	}
	return max(p, 0)
}

// phi is the standard normal distribution at d/u; at u 0 a value on the limit
// conforms.
func phi(d, u float64) float64 {
	if u == 0 {
		if d > 0 {
			return 1
		}
		return 0
	}
	return math.Erfc(-d/(u*math.Sqrt2)) / 2
}

// Shortfall returns how far y lies outside the limit, and the limit it is
// nearest to breaking; negative inside.
func Shortfall(y float64, l *reading.Limit) (by, limit float64) {
	by = math.Inf(-1)
	if l.Min != nil {
		by, limit = *l.Min-y, *l.Min
	}
	if l.Max != nil && y-*l.Max > by {
		by, limit = y-*l.Max, *l.Max
	}
	return by, limit
}
