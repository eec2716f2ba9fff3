package conformity

import (
	"fmt"
	"math"
	"strings"

	"crownassay/reading"
	"crownassay/tooth"
	"crownassay/unit"
)

// next returns the sentence of next step; empty for a reading that conforms
// or informs.
func (f *finding) next(t tooth.Tooth) string {
	a := actionOf(f.m.ID)
	switch f.reading.Verdict {
	case reading.Unmeasured:
		return fmt.Sprintf("%s could not be measured (%s): %s.", capital(a.subject), f.reading.Reason, a.get)
	case reading.Fails:
		return fmt.Sprintf("%s, %s: %s.", f.found(a, t), f.shortfall(), f.remedy(a))
	case reading.Undecided:
		_, limit := Shortfall(f.culprit.value, f.culprit.limit)
		return fmt.Sprintf("%s with an uncertainty of %s, too near %s to decide (%.0f %% likely to conform): if in doubt, %s.",
			f.found(a, t), f.number(f.culprit.expanded), f.number(limit), 100**f.reading.Conformance, f.remedy(a))
	}
	return ""
}

// found says which value was found where.
func (f *finding) found(a action, t tooth.Tooth) string {
	subject := a.subject
	if f.culprit.zone != "" {
		subject += " over the " + f.culprit.zone
	}
	place := ""
	if p := f.culprit.at; p != nil && p.HasAzimuth {
		place = t.SectorWord(reading.Sector(p.Azimuth))
	}
	if place != "" && a.where == before {
		subject = place + " " + subject
	}
	s := fmt.Sprintf("%s is %s%s", capital(subject), f.number(f.culprit.value), unitWord(f.m.Unit))
	if place != "" && a.where == worst {
		s += " (worst: " + place + ")"
	}
	return s
}

// shortfall says by how much the value misses its limit.
func (f *finding) shortfall() string {
	by, limit := Shortfall(f.culprit.value, f.culprit.limit)
	word := "short of"
	if f.above() {
		word = "over"
	}
	return fmt.Sprintf("%s %s %s", f.number(by), word, f.number(limit))
}

// above reports whether it is the upper limit that is missed, or nearest.
func (f *finding) above() bool {
	l := f.culprit.limit
	_, limit := Shortfall(f.culprit.value, l)
	return l.Max != nil && limit == *l.Max && (l.Min == nil || *l.Min != limit)
}

func (f *finding) remedy(a action) string {
	if f.above() {
		return a.high
	}
	if s, ok := f.reading.Sub(reading.TakeOff); ok {
		return takeOff(&f.reading, s.Value)
	}
	return a.low
}

// takeOff says how much to take off a heavy contact, where, and what is left.
func takeOff(r *reading.Reading, amount float64) string {
	s := fmt.Sprintf("take off %.2f mm", amount)
	if d, ok := r.Sub(reading.BelowRidge); ok {
		s += fmt.Sprintf(" %.1f mm below the marginal ridge", d.Value)
	} else {
		s += " there"
	}
	s += " in small steps and polish"
	if l, ok := r.Sub(reading.ThicknessLeft); ok {
		return s + fmt.Sprintf("; %.2f mm of thickness is left there", l.Value)
	}
	return s + ", thickness permitting"
}

// number prints a value with the decimals that mean something.
func (f *finding) number(x float64) string {
	s := fmt.Sprintf("%.*f", f.m.Digits, x)
	if strings.Trim(s, "-0.") == "" && x < 0 {
		s = fmt.Sprintf("%.*f", f.m.Digits, math.Abs(x))
	}
	return s
}

func unitWord(u unit.Unit) string {
	switch u {
	case unit.One:
		return ""
	case unit.Degree:
		return " degrees"
	}
	return " " + string(u)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
