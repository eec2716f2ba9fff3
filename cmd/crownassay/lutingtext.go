package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"crownassay/internal/text"
	"crownassay/luting"
	"crownassay/record"
)

// standingWords are what the table says of a family.
var standingWords = map[luting.Standing]string{luting.Supported: "supported", luting.Undecided: "undecided", luting.NotSupported: "not supported"}

// stateWords are how a rule stands; a caution is said as such.
func stateWords(q *luting.Reason) string {
	switch {
	case q.State == luting.Met:
		return "met"
	case q.Weight == luting.Caution && q.State == luting.NotMet:
		return "caution"
	case q.Weight == luting.Caution:
		return "not known"
	case q.State == luting.NotMet:
		return "not met"
	}
	return "open"
}

// lutingPage sets what is said; sources are numbered and stand at its end.
type lutingPage struct {
	b       strings.Builder
	sources []luting.From
}

func (p *lutingPage) put(indent, s string) {
	p.b.WriteString(strings.Join(text.Wrap(indent, s, textWidth), "\n") + "\n")
}

// cite is the status of a row and the number of its source.
func (p *lutingPage) cite(f luting.From) string {
	i := slices.Index(p.sources, f)
	if i < 0 {
		i, p.sources = len(p.sources), append(p.sources, f)
	}
	return fmt.Sprintf(" [%s, %d]", f.Status, i+1)
}

// lutingText writes the families with their reasons, then the steps for one.
func lutingText(w io.Writer, d *record.Document, of string, v *luting.Judgement, family string) error {
	var p lutingPage
	p.put("", fmt.Sprintf("Luting: tooth %s, %s, %s", d.Tooth, d.Material, of))
	p.put("", v.Headline)
	p.put("", v.Maker)
	if len(v.Missing) > 0 {
		p.put("Not entered: ", strings.Join(v.Missing, "; ")+".")
	}
	for i := range v.Answers {
		a := &v.Answers[i]
		fmt.Fprintf(&p.b, "\n%s%s (%s)\n", text.Left(standingWords[a.Standing], 15), a.Family.Title, a.Family.Name)
		for j := range a.Reasons {
			q := &a.Reasons[j]
			p.put("  "+text.Left(stateWords(q), 11), q.Found+" "+capital(q.Says)+"."+p.cite(q.From))
		}
	}
	p.b.WriteString("\n")
	if a := chosen(v, family); a != nil {
		p.steps(a, v.Maker)
	} else {
		p.put("", "No family is supported, so no steps are given; --family NAME gives those for one.")
	}
	p.b.WriteString("\nSources\n")
	for i, f := range p.sources {
		p.put(fmt.Sprintf("%4d  ", i+1), f.Source)
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

// chosen is the family whose steps are given.
func chosen(v *luting.Judgement, family string) *luting.Answer {
	for i := range v.Answers {
		if a := &v.Answers[i]; a.Family.Name == family || family == "" && a.Standing == luting.Supported {
			return a
		}
	}
	return nil
}

func (p *lutingPage) steps(a *luting.Answer, maker string) {
	p.put("", "Steps for "+a.Family.Title+". "+maker)
	for _, h := range a.Hazards {
		p.put("  Danger: ", h.Says+p.cite(h.From))
	}
	for _, r := range a.Refusals {
		p.put("  Never:  ", r.Says+p.cite(r.From))
	}
	for i, s := range a.Steps {
		on := s.On
		if on == "both" {
			on = ""
		}
		timed := ""
		if len(s.Seconds) == 2 {
			timed = " Timer: " + secondsText(s.Seconds[0], s.Seconds[1]) + ", unless the maker's instructions say otherwise."
		}
		p.put(fmt.Sprintf("  %2d %s", i+1, text.Left(on, 6)), s.Says+timed+p.cite(s.From))
	}
}

// secondsText is a range of times, in minutes where both ends are whole ones.
func secondsText(least, most float64) string {
	unit := "s"
	if least >= 120 && int(least)%60 == 0 && int(most)%60 == 0 {
		least, most, unit = least/60, most/60, "min"
	}
	if least == most {
		return fmt.Sprintf("%g %s", least, unit)
	}
	return fmt.Sprintf("%g to %g %s", least, most, unit)
}
