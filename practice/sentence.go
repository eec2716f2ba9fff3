package practice

import (
	"fmt"
	"strings"

	"crownassay/practice/settings"
)

// Sentence says what to set the next contact to, or why nothing can be said
// yet.
func (r *ContactReport) Sentence() string {
	if r.Advice == nil {
		return "No contact is on record yet: enter how each is felt at try-in."
	}
	a := r.Advice
	if len(a.Not) > 0 {
		var why []string
		for _, n := range a.Not {
			why = append(why, r.reason(n))
		}
		return "Not enough cases yet: " + strings.Join(why, "; ") + "."
	}
	of := map[Scale]string{Designed: "Design contacts with", Set: "Set the design program to"}[r.Scale]
	s := fmt.Sprintf("%s %s (95 %% interval %s).", of, tightText(a.Best), between(a.Low, a.High))
	if a.Edge {
		s += " That is the end of what was tried: the best may lie beyond."
	}
	return s
}

// tightText is a tightness in words.
func tightText(mm float64) string {
	switch um := 1000 * mm; {
	case um >= 0.5:
		return fmt.Sprintf("%.0f um of overlap", um)
	case um <= -0.5:
		return fmt.Sprintf("a gap of %.0f um", -um)
	}
	return "touching without overlap"
}

// between is an interval of tightness in words.
func between(low, high float64) string {
	if low > 0.0005 && high > 0.0005 {
		return fmt.Sprintf("%.0f to %.0f um of overlap", 1000*low, 1000*high)
	}
	return tightText(low) + " to " + tightText(high)
}

func (r *ContactReport) reason(n settings.Reason) string {
	a := r.Advice
	switch n {
	case settings.FewContacts:
		return fmt.Sprintf("%d contacts, and it takes %d", a.Contacts, a.Wanted)
	case settings.OneLevel:
		return "all were felt alike"
	case settings.OneDesign:
		return "all were designed nearly alike"
	case settings.NoSlope:
		return "contacts that were designed tighter were not felt tighter for sure"
	}
	return "the best may lie anywhere from " + between(a.Low, a.High)
}

// DriftSentence says whether contacts have changed over time at the same
// design, and what coincides; empty where nothing did.
func (r *ContactReport) DriftSentence() string {
	if r.Drift == nil {
		return ""
	}
	d, s := r.Drift, ""
	if d.Out >= 0 {
		way := "looser"
		if d.Points[d.Out].Average > 0 {
			way = "tighter"
		}
		s = fmt.Sprintf("Contacts have become %s at the same design since %s (seen on %s).", way, d.Points[d.Since].Date.Format("2006-01-02"), d.Points[d.Out].Date.Format("2006-01-02"))
	}
	if d.With != nil {
		way := "looser"
		if d.With.Surprise > 0 {
			way = "tighter"
		}
		s += fmt.Sprintf(" Contacts of %s %s are felt %s than their design lets expect (%d contacts).", map[string]string{"tool": "tool", "block": "block lot"}[d.With.What], d.With.Name, way, d.With.Contacts)
	}
	return strings.TrimSpace(s)
}
